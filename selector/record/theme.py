"""One look for charts on the page and in what is handed over; it follows light and dark."""

from types import MappingProxyType
from typing import Any

# Okabe-Ito hues that keep 3:1 against both grounds; the mark and the words carry the meaning, never colour alone.
STANDING_COLOURS = MappingProxyType({"admitted": "#0072B2", "undecided": "#CC79A7", "ruled out": "#8a8f96"})
OUTCOME_COLOURS = MappingProxyType(
    {"pass": "#0072B2", "duty": "#E69F00", "unknown": "#CC79A7", "fail": "#D55E00", "not_applicable": "#8a8f96"}
)
# The kinds of rule sets keep apart in colour too; their names stand beside it.
KIND_COLOURS = MappingProxyType(
    {
        "law": "#0072B2",
        "customer": "#009E73",
        "metallurgy": "#D55E00",
        "quality": "#56B4E9",
        "supply-risk": "#8a7fd0",
        "information": "#8a8f96",
    }
)
MUTED = "#7d868f"
# Fixed order of criteria; text and hover name each, so that the hue never stands alone.
CRITERION_COLOURS = ("#0072B2", "#56B4E9", "#009E73", "#E69F00", "#CC79A7", "#D55E00", "#8a8f96", "#5b5ea6")
LIMIT_COLOUR = "#D55E00"
FONT = "sans-serif"
INK = MappingProxyType({False: "#1b1f24", True: "#e6e9ed"})
# Under a chart in a file of its own, which stands on whatever its reader has.
GROUND = MappingProxyType({False: "#ffffff", True: "#14181d"})


def config(dark: bool = False) -> dict[str, Any]:
    """Return the Vega-Lite configuration of every chart, for a dark ground or a light one."""
    ink = INK[dark]
    return {
        "background": "transparent",
        "font": FONT,
        "view": {"stroke": None},
        "axis": {
            "labelFontSize": 12,
            "titleFontSize": 12,
            "titleFontWeight": "normal",
            "grid": True,
            "gridColor": MUTED,
            "gridOpacity": 0.25,
            "domain": False,
            "ticks": False,
            "labelLimit": 260,
            "labelColor": ink,
            "titleColor": ink,
        },
        "legend": {
            "labelFontSize": 12,
            "titleFontSize": 12,
            "titleFontWeight": "normal",
            "orient": "top",
            "labelColor": ink,
        },
        "text": {"fontSize": 12, "color": ink},
        "title": {
            "fontSize": 14,
            "color": ink,
            "subtitleColor": ink,
            "subtitleFontSize": 12,
            "offset": 16,
        },
    }
