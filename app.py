"""A door to the page for `streamlit run app.py`; the page itself is `torquerisk.show.page`."""

import streamlit as st

from torquerisk.show.page.serve import SCRIPT, SERVED

app = st.App(SCRIPT, **SERVED)
