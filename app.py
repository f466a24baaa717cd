"""The page: `streamlit run app.py`. Everything it shows is arranged in `torquerisk.show.page`."""

import streamlit as st

from torquerisk.show.page.main import page
from torquerisk.show.page.serve import MIDDLEWARE, sorry, warm

if __name__ == "__main__":
    page()
else:
    app = st.App(__file__, middleware=MIDDLEWARE, lifespan=warm, on_script_error=sorry)
