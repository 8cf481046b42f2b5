"""Start page of Meltwise: a router and nothing else. Run it with `streamlit run app.py`."""

from selector.ui.router import run

run()
