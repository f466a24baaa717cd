"""The script that the server runs for every visit; alone in its folder, which joins the path."""

import streamlit as st

from torquerisk.show.page.serve import SERVED
from torquerisk.show.page.views import page

if __name__ == "__main__":
    page()
else:
    app = st.App(__file__, **SERVED)
