"""The page: `streamlit run app.py`. Everything it shows is arranged in `torquerisk.show.page`."""

from torquerisk.show.page.main import page

page()
