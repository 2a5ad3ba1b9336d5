"""What Streamlit runs when the page is started from an installed package."""

from routecost.page.main import show

if __name__ == "__main__":  # a measuring process that starts anew must not run the page
    show()
