"""The pages: the only floor that knows Streamlit."""
