"""The Streamlit page."""
