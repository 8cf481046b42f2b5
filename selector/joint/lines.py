"""Straight lines through the liquidus: second opinions beside the melting engine, told as its span.

Two are in use. The line of tin-silver-copper with bismuth runs from 220 degC without bismuth to 139 degC at 57 wt%:
`w = 57 (220 - T) / 81`. The linear fit sums slopes: `T = 232 - 3.1 Ag - 1.6 Bi - 7.9 Cu - 1.9 In - 1.3 Pb + 2.7 Sb
- 5.5 Zn`, wt%, from memory, for tin-rich alloys up to Ag 3.5, Bi 43, Cu 0.7, In 25, Pb 38, Sb 6.7, Zn 6; it meets
tabulated liquidus within 4 K where it was checked. The bends of the real liquidus lie between the two.
"""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from selector.composition import Composition
from selector.constants import constant
from selector.errors import Fault
from selector.ranges import Numbers, refuse_outside, wrong_if

FIT_HOLDS_TO_WT: Mapping[str, float] = MappingProxyType(
    {"Ag": 3.5, "Bi": 43.0, "Cu": 0.7, "In": 25.0, "Pb": 38.0, "Sb": 6.7, "Zn": 6.0}
)


def line_bismuth_wt(
    peak_c: Numbers, top_c: float | None = None, eutectic_c: float | None = None, eutectic_wt: float | None = None
) -> Numbers:
    """Return the bismuth content, wt%, of liquid in contact with solid tin-silver-copper: the straight line.

    Parameters
    ----------
    peak_c : float or array, degC
        From the eutectic to the top of the line.
    top_c, eutectic_c, eutectic_wt : float, optional
        220, 139 and 57 of `data/constants.csv` where left out.

    Raises
    ------
    InputError
        A peak outside the line.
    """
    top, bottom, most = _ends(top_c, eutectic_c, eutectic_wt)
    outside = wrong_if(
        (np.asarray(peak_c) < bottom) | (np.asarray(peak_c) > top),
        "peak_c",
        "lies outside the straight line of the liquidus",
        peak_c,
        f"{bottom:g} to {top:g} degC",
    )
    refuse_outside("the peak", outside, peak_c=peak_c)
    return most * (top - peak_c) / (top - bottom)


def line_liquidus_c(
    bismuth_wt: Numbers, top_c: float | None = None, eutectic_c: float | None = None, eutectic_wt: float | None = None
) -> Numbers:
    """Return the liquidus, degC, of tin-silver-copper with bismuth: the same line the other way.

    Raises
    ------
    InputError
        A content outside 0 to the eutectic's.
    """
    top, bottom, most = _ends(top_c, eutectic_c, eutectic_wt)
    beyond = wrong_if(
        np.asarray(bismuth_wt) > most, "bismuth_wt", "lies beyond the eutectic", bismuth_wt, f"0 to {most:g} wt%"
    )
    refuse_outside("the joint", beyond, bismuth_wt=bismuth_wt)
    return top - (top - bottom) * bismuth_wt / most


def fit_liquidus_c(**contents_wt: Numbers) -> Numbers:
    """Return the liquidus, degC, of a tin-rich alloy by the linear fit.

    Parameters
    ----------
    **contents_wt : float or array, wt%
        `ag_wt`, `bi_wt`, `cu_wt`, `in_wt`, `pb_wt`, `sb_wt`, `zn_wt`; what is left out is 0, the rest is tin.

    Raises
    ------
    InputError
        An element that the fit does not know, or more of one than it holds for.
    """
    faults: list[Fault | None] = []
    known = {f"{element.lower()}_wt": element for element in FIT_HOLDS_TO_WT}
    total: Numbers = constant("linear fit base").value
    for name, content in contents_wt.items():
        if name not in known:
            faults.append(Fault(name, "is not an element of the fit", allowed=", ".join(known)))
            continue
        most = FIT_HOLDS_TO_WT[known[name]]
        over = np.asarray(content, dtype=float) > most
        faults.append(wrong_if(over, name, "is more than the linear fit holds for", content, f"at most {most:g} wt%"))
        total = total + constant(f"linear fit {known[name]}").value * content
    refuse_outside("the alloy", *faults, **{name: wt for name, wt in contents_wt.items() if name in known})
    return total


def fit_pasty_range_k(solidus_c: Numbers, **contents_wt: Numbers) -> Numbers:
    """Return the pasty range of a tin-rich alloy, K: its liquidus by the linear fit less a stated solidus.

    A few kelvin low for bismuth (29 K for Sn-40Bi where 31 to 35 are measured).

    Raises
    ------
    InputError
        As `fit_liquidus_c`; a solidus above the liquidus.
    """
    top = fit_liquidus_c(**contents_wt)
    above = wrong_if(np.asarray(solidus_c) > np.asarray(top), "solidus_c", "is above the liquidus", solidus_c, "below")
    refuse_outside("the alloy", above, solidus_c=solidus_c)
    return top - solidus_c


def fit_of(alloy: Composition) -> float | None:
    """Return the liquidus of a composition by the linear fit, degC; None where the fit does not hold for it."""
    contents = {element: float(wt) for element, wt in alloy.parts if element != "Sn"}
    if any(wt > FIT_HOLDS_TO_WT.get(element, 0.0) for element, wt in contents.items()):
        return None
    return float(fit_liquidus_c(**{f"{element.lower()}_wt": wt for element, wt in contents.items()}))


def fit_bismuth_wt(peak_c: float, ball: Composition) -> float | None:
    """Return the bismuth content, wt%, of liquid in contact with a solid ball, by the linear fit's 1.6 K/wt%.

    None where the fit does not hold: for the ball, above its liquidus, or beyond 43 wt% of bismuth.
    """
    top = fit_of(ball)
    if top is None or peak_c > top:
        return None
    content = (top - peak_c) / -constant("linear fit Bi").value + float(ball.wt("Bi"))
    return content if content <= FIT_HOLDS_TO_WT["Bi"] else None


def lever_liquid_share(alloy_wt: Numbers, solid_wt: Numbers, liquid_wt: Numbers) -> Numbers:
    """Return the liquid share of an alloy between its solid and its liquid: the lever rule, `(w-s)/(l-s)`.

    Parameters
    ----------
    alloy_wt, solid_wt, liquid_wt : float or array, wt%
        The same element in the alloy, in its solid and in its liquid.

    Raises
    ------
    InputError
        An alloy outside the two.
    """
    low, high = np.minimum(solid_wt, liquid_wt), np.maximum(solid_wt, liquid_wt)
    outside = wrong_if(
        (np.asarray(alloy_wt) < low) | (np.asarray(alloy_wt) > high) | (low == high),
        "alloy_wt",
        "does not lie between solid and liquid",
        alloy_wt,
        "between the two",
    )
    refuse_outside("the lever rule", outside, alloy_wt=alloy_wt, solid_wt=solid_wt, liquid_wt=liquid_wt)
    return (alloy_wt - solid_wt) / (liquid_wt - solid_wt)


def _ends(top_c: float | None, eutectic_c: float | None, eutectic_wt: float | None) -> tuple[float, float, float]:
    return (
        constant("tin-bismuth line top").value if top_c is None else top_c,
        constant("tin-bismuth eutectic temperature").value if eutectic_c is None else eutectic_c,
        constant("tin-bismuth eutectic bismuth").value if eutectic_wt is None else eutectic_wt,
    )
