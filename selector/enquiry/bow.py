"""The bow of a package as two bonded layers, at the peak asked for and at the usual one: an indicator."""

from collections.abc import Sequence

from selector.enquiry.fields import Field, Figures, stated
from selector.enquiry.report import Row, ends
from selector.process.warpage import bilayer_per_mm, bow_mm
from selector.ranges import RANGES

# Named as the equation names them, so that what it refuses is what was asked for.
BOW_FIELDS = (
    Field("one_thickness_mm", "Thickness of the lower layer, mm"),
    Field("one_modulus_gpa", "Modulus of the lower layer, GPa"),
    Field("one_ppm_k", "Expansion of the lower layer, ppm/K"),
    Field("other_thickness_mm", "Thickness of the upper layer, mm"),
    Field("other_modulus_gpa", "Modulus of the upper layer, GPa"),
    Field("other_ppm_k", "Expansion of the upper layer, ppm/K"),
    Field("package_edge_mm", "Edge or diagonal, mm", allowed=RANGES["length_mm"]),
)
LAYERS = tuple(entry.name for entry in BOW_FIELDS[:-1])


def bows_mm(figures: Figures, peaks_c: Sequence[float]) -> tuple[float, ...] | None:
    """Return the bow at each peak, mm with sign; None where a layer, the edge or the flat temperature is not known.

    Raises
    ------
    InputError
        A bow over a tenth of the edge, for which the arc is no arc.
    """
    flat, edge = stated(figures, "reference_c"), stated(figures, "package_edge_mm")
    layers = {name: value for name in LAYERS if (value := stated(figures, name)) is not None}
    if flat is None or edge is None or len(layers) < len(LAYERS):
        return None
    return tuple(float(bow_mm(bilayer_per_mm(**layers, swing_k=peak - flat), edge)) for peak in peaks_c)


def bow_rows(figures: Figures, peak_c: tuple[float, float] | None) -> list[Row]:
    """Return the bow at the peak and at the usual one as rows; none where it was not asked for.

    One layer stated asks: what is then missing is said.
    """
    if all(stated(figures, entry.name) is None for entry in BOW_FIELDS):
        return []
    missing = [entry.label for entry in BOW_FIELDS if stated(figures, entry.name) is None]
    if missing:
        return [{"figure": "bow of two layers (Timoshenko)", "value": f"unknown: state {', '.join(missing)}"}]
    usual = stated(figures, "usual_peak_c")
    asked = {"the peak": peak_c, "the usual peak": None if usual is None else (usual, usual)}
    return [
        {
            "figure": f"bow of two layers at {name} (Timoshenko)",
            "value": "unknown" if at is None else ends(bows_mm(figures, at) or (None,), "mm", 3),
        }
        for name, at in asked.items()
    ]
