"""The door for `streamlit run app.py -- [BUILD]`; the pages themselves live in routecost/page."""

from routecost.page.main import show

show()
