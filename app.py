"""The door for `streamlit run app.py -- [BUILD]`; the pages themselves live in routecost/page."""

from routecost.page.main import show

if __name__ == "__main__":  # a measuring process that starts anew must not run the page
    show()
