"""Drop: the shock of the board-level test, and what may be said of an alloy in it, which is little.

Half-sine pulse: dv = 2 A t/pi; free fall to that speed: H = dv^2/(2 g). A peak, m/s2; t pulse, s. JESD22-B111: 1500 g,
0.5 ms (memory). No rank follows from slow tensile data: tin-bismuth is ductile when slow and brittle when fast.
"""

import math

from selector.composition import Composition
from selector.durability.constants import surface_data
from selector.durability.estimate import Estimate, no_data
from selector.durability.validity import Bound, hold
from selector.policy import policy

G_M_S2 = 9.80665
PEAK_G, PULSE_MS = 1500.0, 0.5
NEVER_FROM_TENSILE = "never infer drop life from slow tensile data: board, finish and rate decide"


def pulse_speed_m_s(peak_g: float = PEAK_G, pulse_ms: float = PULSE_MS) -> float:
    """Return the change of speed of a half-sine pulse, m/s.

    Raises
    ------
    InputError
        A peak or pulse not above 0.
    """
    hold(
        "the drop pulse",
        Bound("peak_g", peak_g, 0, unit="g", above=True),
        Bound("pulse_ms", pulse_ms, 0, unit="ms", above=True),
    )
    return 2 * peak_g * G_M_S2 * pulse_ms * 1e-3 / math.pi


def drop_height_m(speed_m_s: float) -> float:
    """Return the height of a free fall that ends at a speed, m.

    Raises
    ------
    InputError
        A speed below 0.
    """
    hold("the drop height", Bound("speed_m_s", speed_m_s, 0, unit="m/s"))
    return speed_m_s**2 / (2 * G_M_S2)


def drop_life(alloy: Composition) -> Estimate:
    """Return what is known of an alloy's drop life: never a number, but the published results and what to watch.

    Parameters
    ----------
    alloy : Composition
    """
    entries = surface_data().drop
    flags = [NEVER_FROM_TENSILE, *(f"published: {entry.text}" for entry in entries)]
    if float(alloy.wt("Bi")) > policy().class_and_cycling.bismuth_rich_above_wt:
        flags.insert(0, "bismuth-rich: weak under shock unless bonded at the corners or underfilled (common practice)")
    source = "; ".join(dict.fromkeys(entry.source for entry in entries))
    why = "drop life hangs on board, pads and finish; no model predicts it from the alloy"
    return no_data("drop life", "drops", why, source, tuple(flags))
