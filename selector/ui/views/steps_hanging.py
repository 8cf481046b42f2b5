"""A part upside down in the last step: does molten solder hold it, or do its joints stay solid?"""

import streamlit as st

from selector.errors import InputError
from selector.planning import Assigned
from selector.process.second_side import second_side
from selector.record.steps_words import hanging_text
from selector.ui.say import plain

FIELDS = {
    "mass_g": "Mass of the part, g",
    "wetted_area_mm2": "Wetted area of its joints, mm2",
    "edge_mm": "Outline, mm",
}


def show(assigned: Assigned) -> None:
    """Draw the fields, and the verdict once a mass is stated."""
    with st.expander("A part upside down in the last step"):
        given: dict[str, float] = {}
        for column, (name, title) in zip(st.columns(3), FIELDS.items(), strict=True):
            with column:
                text = st.text_input(
                    title, key=f"steps_hanging:{name}", placeholder="not stated", max_chars=20, persist_state="session"
                )
            if text.strip():
                try:
                    given[name] = float(text)
                except ValueError:
                    st.error(plain(f"{title}: {text} is no number"))
        if "mass_g" not in given:
            st.caption("State its mass. The wetted area is asked for and never guessed from the outline of the body.")
            return
        try:
            verdict = second_side(**given, remelt_margin_k=assigned.last_margin_k)
        except InputError as error:
            for fault in error.faults:
                st.error(plain(fault))
            return
        st.markdown(f"**{plain(hanging_text(verdict))}**")
        st.caption("\n".join(f"- {plain(told)}" for told in verdict.cautions))
        st.caption(plain(f"Sources: {verdict.source}"))
