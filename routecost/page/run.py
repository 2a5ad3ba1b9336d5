"""What Streamlit runs when the page is started from an installed package."""

from routecost.page.main import show

show()
