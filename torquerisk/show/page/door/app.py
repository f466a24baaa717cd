"""The script that the server runs for every visit; alone in its folder, which joins the path.

The page itself is imported at the first visit, so that the server answers before.
"""

import streamlit as st

from torquerisk.show.page.serve import SERVED

if __name__ == "__main__":
    from torquerisk.show.page.views import page

    page()
else:
    app = st.App(__file__, **SERVED)
