"""Paste through the stencil, and gold from the finishes, judged where the brief names what they hang on.

Powder by the five-ball rule and by pitch, the opening by area and aspect ratio (common practice, `process.printing`);
gold by mass balance under a print against the lowest published limit (`joint.finish`).
"""

import math
from functools import lru_cache

from selector.brief import Brief, known
from selector.catalogue import Alloy
from selector.errors import InputError
from selector.figures import figure, signed
from selector.joint.finish import GOLD_G_CM3, GOLD_RULE, areal_thickness_um, areal_wt, gold_in_joint, gold_um
from selector.joint.geometry import USUAL_METAL_WT, metal_volume_share
from selector.policy import policy
from selector.process import printing
from selector.verdict import Edit, Measured, Outcome, Verdict, strongest, worst

RULE = "printing"
SOURCE = "practice; the brief"
GOLD_FINISHES = ("nickel-gold", "nickel-palladium-gold")
FINE_TYPE = 5
COARSEST_MM = 10.0  # a wider pitch takes any powder
FINEST_MM = 0.05
OFF = "the brief says nothing of the print"


@lru_cache(maxsize=256)
def _coarsest(opening_um: float | None, pitch_mm: float | None) -> tuple[printing.Powder | None, ...]:
    """Return the coarsest powders that a pitch and an opening take, of those that are stated; asked for every alloy."""
    found: list[printing.Powder | None] = []
    if pitch_mm is not None:
        found.append(None if pitch_mm < FINEST_MM else printing.powder_for_pitch(pitch_mm))
    if opening_um is not None:
        found.append(printing.powder_for_aperture(opening_um))
    return tuple(found)


def smallest_opening_um(brief: Brief) -> float | None:
    """Return the smallest stencil opening that the brief names, um; None where it names none."""
    stated = [1000 * mm for part in brief.parts if (mm := known(part.aperture_mm)) is not None]
    own = known(brief.printing.aperture_um)
    return min([*stated, *([] if own is None else [own])], default=None)


def smallest_pitch_mm(brief: Brief) -> float | None:
    """Return the smallest pitch of the brief's parts, mm; None where it names none that asks for fine powder."""
    pitches = [mm for part in brief.parts if (mm := known(part.pitch_mm)) is not None]
    return min((mm for mm in pitches if mm <= COARSEST_MM), default=None)


def print_screen(brief: Brief, alloy: Alloy) -> Verdict:
    """Return whether the paste prints: powder against opening and pitch, opening against foil.

    Asked of paste only, where the brief says something of the print, or names both a pitch and a powder type.
    """
    opening, pitch, powder = smallest_opening_um(brief), smallest_pitch_mm(brief), known(brief.process.powder_type)
    asked = brief.printing.says or opening is not None
    if not asked and (pitch is None or powder is None):
        return Verdict(RULE, Outcome.NOT_APPLICABLE, OFF, SOURCE)
    if brief.process.form not in ("paste", "unknown"):
        return Verdict(RULE, Outcome.NOT_APPLICABLE, f"{brief.process.form} is not printed", SOURCE)
    found = [_powder(alloy, opening, pitch, powder)]
    if asked:
        found.append(_stencil(brief, opening, powder))
    against = [verdict for verdict in found if verdict.outcome in (Outcome.FAIL, Outcome.UNKNOWN)]
    first = worst(found)
    cautions = tuple(dict.fromkeys(caution for verdict in found for caution in verdict.cautions))
    reason = "; ".join(verdict.reason for verdict in (against or found))
    asked_for = sorted((e for v in against for e in v.edits), key=_largest_first)
    edits = () if any(not verdict.edits for verdict in against) else strongest(asked_for)
    threshold = "; ".join(dict.fromkeys(v.threshold for v in against if v.threshold))
    return Verdict(
        RULE,
        first.outcome,
        reason,
        first.source,
        first.measured,
        first.limit,
        first.margin,
        threshold if first.outcome is Outcome.UNKNOWN else "",
        edits,
        cautions,
    )


def _largest_first(edit: Edit) -> float:
    """Order edits without a size: of two openings asked for, the wider serves both."""
    return -float(edit.value) if isinstance(edit.value, float) and edit.change is None else 0.0


def _powder(alloy: Alloy, opening_um: float | None, pitch_mm: float | None, powder: float | None) -> Verdict:
    if opening_um is None and pitch_mm is None:
        if powder is None:
            threshold = "state the smallest opening and the powder type"
            return Verdict(RULE, Outcome.UNKNOWN, "opening and powder are not known", SOURCE, threshold=threshold)
        least = float(printing.least_aperture_um(printing.powders()[int(powder)].high_um))
        text = f"show that the smallest opening is at least {figure(least)} um"
        edit = Edit("printing.aperture_um", least, text)
        threshold = f"holds if the smallest opening is at least {figure(least)} um"
        return Verdict(
            RULE, Outcome.UNKNOWN, "the smallest opening is not known", SOURCE, threshold=threshold, edits=(edit,)
        )
    coarsest = _coarsest(opening_um, pitch_mm)
    if None in coarsest:
        return Verdict(RULE, Outcome.FAIL, "no powder in the table is fine enough for this print", SOURCE)
    needed = max((entry for entry in coarsest if entry is not None), key=lambda entry: entry.type)
    asks = f"the print asks for powder of type {needed.type} or finer"
    if powder is None:
        edit = Edit("process.powder_type", needed.type, f"take powder of type {needed.type}")
        threshold = f"holds with powder of type {needed.type} or finer"
        reason = f"the powder type is not known; {asks}"
        return Verdict(RULE, Outcome.UNKNOWN, reason, SOURCE, threshold=threshold, edits=(edit,))
    if powder < needed.type:
        text = f"take powder of type {needed.type} instead of {powder:g}"
        edit = Edit("process.powder_type", needed.type, text, needed.type - powder, "type")
        measured, margin = Measured.exactly(powder, "type"), powder - needed.type
        reason = f"type {powder:g} is too coarse: {asks}"
        source = f"{needed.source}; {SOURCE}"
        return Verdict(RULE, Outcome.FAIL, reason, source, measured, needed.type, margin, edits=(edit,))
    # The opening that would just take the needed type stands in where only the pitch is known.
    opening = opening_um or float(printing.least_aperture_um(needed.high_um))
    beside = None if pitch_mm is None or opening >= 1000 * pitch_mm else pitch_mm
    return printing.powder_type(int(powder), alloy.composition, opening, beside)


def _stencil(brief: Brief, opening_um: float | None, powder: float | None) -> Verdict:
    foil_um = known(brief.printing.foil_um)
    if opening_um is None or foil_um is None:
        missing = " and ".join(name for name, value in (("opening", opening_um), ("foil", foil_um)) if value is None)
        edits: tuple[Edit, ...] = ()
        if opening_um is not None:
            most = _thickest_um(brief, opening_um, powder)
            edits = (Edit("printing.foil_um", most, f"show that the foil is at most {figure(most)} um"),)
        elif foil_um is not None:
            least = _least_opening_um(brief, foil_um, powder)
            edits = (
                Edit("printing.aperture_um", least, f"show that the smallest opening is at least {figure(least)} um"),
            )
        holds = [edit.text.replace("show that", "holds if") for edit in edits]
        threshold = "; ".join(holds) or f"state {missing}"
        return Verdict(RULE, Outcome.UNKNOWN, f"{missing} not known", SOURCE, threshold=threshold, edits=edits)
    side_mm = opening_um / 1000
    verdict = printing.stencil(side_mm, side_mm, foil_um / 1000, _fine(brief, powder))
    if verdict.outcome is not Outcome.FAIL:
        return verdict
    most = _thickest_um(brief, opening_um, powder)
    change = most - foil_um
    text = f"take a foil of {figure(most)} um instead of {figure(foil_um)} ({signed(change, 'um')})"
    edits = (Edit("printing.foil_um", most, text, change, "um"),) if most >= 1 else ()
    return Verdict(
        RULE,
        verdict.outcome,
        verdict.reason,
        verdict.source,
        verdict.measured,
        verdict.limit,
        verdict.margin,
        edits=edits,
    )


def _fine(brief: Brief, powder: float | None) -> bool:
    return brief.printing.fine_foil is True and powder is not None and powder >= FINE_TYPE


def _thickest_um(brief: Brief, opening_um: float, powder: float | None) -> float:
    rules = policy().printing
    least = rules.area_ratio_fine_foil if _fine(brief, powder) else rules.area_ratio
    return math.floor(min(opening_um / (4 * least), opening_um / rules.aspect_ratio) * 10 + 1e-6) / 10


def _least_opening_um(brief: Brief, foil_um: float, powder: float | None) -> float:
    rules = policy().printing
    least = rules.area_ratio_fine_foil if _fine(brief, powder) else rules.area_ratio
    return math.ceil(max(foil_um * 4 * least, foil_um * rules.aspect_ratio) * 10 - 1e-6) / 10


def printed_metal_share(brief: Brief, metal_g_cm3: float) -> float:
    """Return how much of the paste's volume is metal, by the brief's metal content or the usual one.

    Raises
    ------
    InputError
        A density outside the range.
    """
    metal_wt = known(brief.printing.metal_wt)
    return float(metal_volume_share((USUAL_METAL_WT if metal_wt is None else metal_wt) / 100, metal_g_cm3))


def gold_screen(brief: Brief, alloy: Alloy) -> Verdict:
    """Return whether gold of the finishes embrittles a printed joint; asked where the brief names the foil."""
    if brief.process.form not in ("paste", "unknown") or not brief.printing.says:
        return Verdict(GOLD_RULE, Outcome.NOT_APPLICABLE, OFF, SOURCE)
    on_pad = brief.materials.pad_finish in GOLD_FINISHES
    golden = [part for part in brief.parts if part.finish in GOLD_FINISHES]
    if not on_pad and not golden:
        open_parts = [part.name for part in brief.parts if part.finish == "unknown"]
        told = f"no finish is of gold{'; not known: ' + ', '.join(open_parts) if open_parts else ''}"
        cautions = (f"gold was not counted: the finish of {', '.join(open_parts)} is not known",) if open_parts else ()
        return Verdict(GOLD_RULE, Outcome.NOT_APPLICABLE, told, SOURCE, cautions=cautions)
    foil_um, density = known(brief.printing.foil_um), alloy.of("density_g_cm3").value
    if foil_um is None or density is None:
        missing = "the foil" if foil_um is None else "the density"
        return Verdict(GOLD_RULE, Outcome.UNKNOWN, f"{missing} is not known", SOURCE, threshold=f"state {missing}")
    both = [gold_um(part.finish) or (0.0, 0.0) for part in golden]
    pad = (gold_um(brief.materials.pad_finish) if on_pad else None) or (0.0, 0.0)
    low, high = (max((ends[k] for ends in both), default=0.0) + pad[k] for k in (0, 1))
    transfer = known(brief.printing.transfer_share)
    share = printed_metal_share(brief, density)
    height = foil_um * (1.0 if transfer is None else transfer)
    try:
        ends = [float(areal_wt(um, GOLD_G_CM3, height, share, density)) for um in (low, high)]
    except InputError as error:
        told = str(error.faults[0])
        return Verdict(GOLD_RULE, Outcome.UNKNOWN, f"gold: {told}", SOURCE, threshold="a print that holds metal")
    verdict = gold_in_joint(alloy.composition, *ends)
    told_too = [] if verdict.outcome is Outcome.PASS else list(verdict.cautions)
    if known(brief.printing.metal_wt) is None and verdict.outcome in (Outcome.FAIL, Outcome.UNKNOWN):
        told_too.append(f"metal content of the paste taken as {USUAL_METAL_WT:g} wt%, which is usual")
    edits: tuple[Edit, ...] = ()
    if verdict.outcome in (Outcome.FAIL, Outcome.UNKNOWN) and verdict.limit is not None:
        # The print over which all of the gold at its thickest comes to the limit.
        bare = float(areal_thickness_um(verdict.limit, GOLD_G_CM3, 1.0, share, density))
        need = math.ceil(high / bare / (1.0 if transfer is None else transfer) * 10) / 10
        text = f"take a foil of {figure(need)} um instead of {figure(foil_um)} ({signed(need - foil_um, 'um')})"
        edits = (Edit("printing.foil_um", need, text, need - foil_um, "um"),)
    return Verdict(
        GOLD_RULE,
        verdict.outcome,
        verdict.reason,
        verdict.source,
        verdict.measured,
        verdict.limit,
        verdict.margin,
        verdict.threshold,
        edits,
        tuple(told_too),
    )
