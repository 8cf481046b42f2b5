"""What was computed of joints and windows, kept for the last of each."""

from typing import Any

import streamlit as st

from selector.enquiry.joint_asked import JointAsked
from selector.enquiry.joint_case import JointAnswer, answer_joint
from selector.enquiry.print_case import PrintAsked, print_report
from selector.enquiry.report import Report
from selector.enquiry.window_case import WindowAnswer, WindowAsked, answer_window
from selector.ui.decisions import catalogue


def told(asked: Any) -> str:
    """Return what tells one question from another."""
    return repr(asked)


# Answers are frozen through and through, so one copy may serve every session.
@st.cache_resource(max_entries=32, show_spinner=False, hash_funcs={JointAsked: told})
def joint_of(asked: JointAsked) -> JointAnswer:
    """Return how a joint melts; raises `InputError` as `answer_joint`."""
    return answer_joint(asked, catalogue())


@st.cache_resource(max_entries=32, show_spinner=False, hash_funcs={WindowAsked: told})
def window_of(asked: WindowAsked) -> WindowAnswer:
    """Return a reflow window; raises `InputError` as `answer_window`."""
    return answer_window(asked, catalogue())


@st.cache_resource(max_entries=32, show_spinner=False, hash_funcs={PrintAsked: told})
def print_of(asked: PrintAsked) -> Report:
    """Return what was found of a print."""
    return print_report(asked, catalogue())
