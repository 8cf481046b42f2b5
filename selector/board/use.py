"""Current, moisture, cold, underfill and the set of materials, judged where the brief names them.

Each rule calls one calculation of `durability` or `process` and adds what of the brief would settle it. Service heat,
and zinc or indium in sweat, are judged elsewhere and not again here.
"""

import math
from dataclasses import replace

from selector.brief import Brief, known
from selector.catalogue import Alloy
from selector.catalogue.evidence import Evidence
from selector.durability import electromigration as current
from selector.durability import galvanic as couple
from selector.durability import tin_pest as cold
from selector.errors import InputError
from selector.fields import UNKNOWN
from selector.figures import figure, signed
from selector.policy import policy
from selector.process import material_sets
from selector.process.standoff import CURE_RULE, underfill_cure
from selector.verdict import Edit, Outcome, Verdict, worst

BASES = {"copper": "Cu", "nickel": "Ni", "aluminium": "Al"}
BASE_OF_FINISH = {"nickel-gold": "Ni", "nickel-palladium-gold": "Ni"}
MENDS = (
    ("cleaning", "cleaning", "proved", "prove the wash on this board"),
    ("flux", "flux_class", "no-clean", "take a no-clean flux without halide"),
    ("underfill", "underfill", "cures at 120 or below", "take an underfill that cures at 120 degC or below"),
    ("coating", "coating", "none", "leave the coat out"),
    ("finish", "pad_finish", "matte tin", "finish the pads with matte tin"),
)


def current_screen(brief: Brief, alloy: Alloy, onset: Evidence) -> Verdict:
    """Return whether the current through a joint is harmless; asked where the brief names a current."""
    rule, life = current.RULE, brief.life
    if life.current_a == UNKNOWN and life.opening_um == UNKNOWN:
        return Verdict(rule, Outcome.NOT_APPLICABLE, "the brief names no current through a joint", "the brief")
    current_a, opening_um, joint_c = known(life.current_a), known(life.opening_um), known(brief.service.maximum_c)
    missing = [
        name
        for name, value in (("the current", current_a), ("the opening", opening_um), ("the service maximum", joint_c))
        if value is None
    ]
    if missing or current_a is None or opening_um is None or joint_c is None:
        told = " and ".join(missing)
        return Verdict(rule, Outcome.UNKNOWN, f"{told} not known", "the brief", threshold=f"state {told}")
    if onset.interval is None or onset.interval[0] <= joint_c:
        reason = "the joint may melt in service, which is judged there"
        return Verdict(rule, Outcome.NOT_APPLICABLE, reason, onset.source)
    density = current.current_density_a_cm2(current_a, opening_um)
    verdict = current.electromigration(alloy.composition, density, joint_c, onset.interval[0])
    if verdict.outcome not in (Outcome.FAIL, Outcome.UNKNOWN):
        return verdict
    need = math.ceil(1e4 * math.sqrt(current_a / (policy().electromigration.review_a_cm2 * math.pi / 4)) * 10) / 10
    text = f"widen the opening from {figure(opening_um)} to {figure(need)} um ({signed(need - opening_um, 'um')})"
    return _with_edits(verdict, (Edit("life.opening_um", need, text, need - opening_um, "um"),))


def galvanic_screen(brief: Brief, alloy: Alloy) -> Verdict:
    """Return the flag for the solder on its base metal; asked where the brief names base or pad finish.

    Zinc and indium in sweat or chloride are judged by the rule on corrosion alone.
    """
    rule, metal = couple.RULE, base_metal(brief)
    if not metal:
        return Verdict(rule, Outcome.NOT_APPLICABLE, "the brief names no metal under the joint", "the brief")
    corroding = policy().corrosion
    exposed = brief.use.sweat_or_chloride is not False and brief.use.sealed is not True
    content = max(
        float(alloy.composition.wt("In")) / corroding.indium_watch_wt,
        float(alloy.composition.wt("Zn")) / corroding.zinc_watch_wt,
    )
    if exposed and content >= 1 and brief.materials.vacuum is not True:
        return Verdict(rule, Outcome.NOT_APPLICABLE, "judged as corrosion in sweat or chloride", "practice")
    high = None if brief.ipc_class == UNKNOWN else brief.ipc_class == 3
    try:
        verdict = couple.galvanic(
            alloy.composition,
            metal,
            humid=is_humid(brief),
            sealed=flag(brief.use.sealed),
            vacuum=flag(brief.materials.vacuum),
            high_reliability=high,
        )
    except InputError as error:
        return Verdict(rule, Outcome.NOT_APPLICABLE, f"no potential is held: {error.faults[0].problem}", "the brief")
    edits: tuple[Edit, ...] = ()
    if verdict.margin is not None:  # without one it is the vacuum, which no seal mends
        edits = (Edit("use.sealed", True, "seal the joints against moisture"),)
    return _with_edits(verdict, edits) if verdict.outcome in (Outcome.FAIL, Outcome.UNKNOWN) else verdict


def base_metal(brief: Brief) -> str:
    """Return the element that stays under the joint, copper under a finish that hides none; empty where not known."""
    metal = BASES.get(brief.materials.base_metal, BASE_OF_FINISH.get(brief.materials.pad_finish, ""))
    return metal or ("" if brief.materials.pad_finish == UNKNOWN else "Cu")


def is_humid(brief: Brief) -> bool | None:
    """Return whether the joint sees moisture, as sweat and chloride are; None where nobody has said."""
    return True if brief.use.sweat_or_chloride is True else flag(brief.materials.humid)


def cold_screen(brief: Brief, alloy: Alloy) -> Verdict:
    """Return the caution on tin pest; asked where the brief names the coldest service. It rules nothing out."""
    coldest_c = known(brief.service.minimum_c)
    if coldest_c is None:
        return Verdict(cold.RULE, Outcome.NOT_APPLICABLE, "the coldest service is not stated", "the brief")
    return cold.tin_pest(alloy.composition, coldest_c)


def cure_screen(brief: Brief, onset: Evidence) -> Verdict:
    """Return whether the underfill cures below the remelt onset; asked where the brief names its cure."""
    cure_c = known(brief.materials.underfill_cure_c)
    if cure_c is None:
        return Verdict(CURE_RULE, Outcome.NOT_APPLICABLE, "the brief names no cure of an underfill", "the brief")
    if onset.interval is None:
        return Verdict(
            CURE_RULE, Outcome.UNKNOWN, "the remelt onset is not known", onset.source, threshold="a measured solidus"
        )
    try:
        verdict = underfill_cure(cure_c, *onset.interval)
    except InputError as error:
        told = f"{error.faults[0].where} {error.faults[0].problem}"
        return Verdict(CURE_RULE, Outcome.UNKNOWN, told, "practice", threshold="a cure from -100 to 450 degC")
    if verdict.outcome not in (Outcome.FAIL, Outcome.UNKNOWN) or verdict.limit is None:
        return verdict
    highest = math.floor(verdict.limit * 100 + 1e-6) / 100
    text = f"cure the underfill at {figure(highest)} degC instead of {figure(cure_c)} ({signed(highest - cure_c, 'K')})"
    edits = [Edit("materials.underfill_cure_c", highest, text, highest - cure_c, "K")]
    return _with_edits(verdict, tuple(edits))


def materials_around(brief: Brief) -> dict[str, str | None]:
    """Return the materials that a brief names around a joint, by kind as the rows speak of them; None: not known."""
    materials, standoff_um = brief.materials, known(brief.printing.standoff_um)
    cure_c, underfill = known(materials.underfill_cure_c), _said(materials.underfill)
    if underfill is None and cure_c is not None:
        low, high = "cures at 120 or below", "cures at 150 or above"
        underfill = low if cure_c <= 120 else high if cure_c >= 150 else None
    return {
        "flux": _said(materials.flux_class),
        "standoff": None if standoff_um is None else material_sets.standoff_kind(standoff_um),
        "cleaning": _said(materials.cleaning),
        "underfill": underfill,
        "coating": _said(materials.coating),
        "finish": _said(materials.pad_finish),
    }


def materials_screen(brief: Brief, alloy: Alloy) -> Verdict:
    """Return whether a pair of the named materials is known bad; pairs that need a test, or have none, are cautions.

    Kinds that the brief does not name are not judged, but for what its flux hangs on: where a kind left out may make
    the flux known bad, the answer is open.
    """
    rule = material_sets.RULE
    if not brief.materials.says:
        return Verdict(rule, Outcome.NOT_APPLICABLE, "the brief names no flux, wash, underfill or coat", "the brief")
    chosen = {"alloy": material_sets.alloy_kind(alloy.composition), **materials_around(brief)}
    found = _judged(chosen)
    bad = [verdict for verdict in found if verdict.outcome is Outcome.FAIL]
    cautions = tuple(
        f"{verdict.subject}: {verdict.reason}; {verdict.threshold}"
        for verdict in found
        if verdict.outcome is Outcome.UNKNOWN
    )
    source = "; ".join(dict.fromkeys(part for v in (bad or found) for part in v.source.split("; "))) or "practice"
    lacking = [] if bad else _flux_hangs_on(chosen)
    if lacking:
        kinds = list(dict.fromkeys(kind for _, missing in lacking for kind in missing))
        told = "; ".join(dict.fromkeys(f"known bad as {row.subject}: {row.reason}" for row, _ in lacking))
        edits = tuple(
            Edit(f"materials.{field}", value, f"show that it is so: {text}")
            for kind, field, value, text in MENDS
            if kinds == [kind]
        )
        threshold = f"state {' and '.join(kinds)}: {told}"
        reason = f"flux {chosen['flux']}, and {' and '.join(kinds)} not known"
        return Verdict(rule, Outcome.UNKNOWN, reason, "practice", threshold=threshold, edits=edits, cautions=cautions)
    if not bad:
        reason = f"no pair of the named materials is known bad{f'; {len(cautions)} to test' if cautions else ''}"
        return Verdict(rule, Outcome.PASS, reason, source, cautions=cautions)
    reason = "; ".join(f"{verdict.subject}: {verdict.reason}" for verdict in bad)
    return Verdict(rule, Outcome.FAIL, reason, source, edits=_mends(chosen), cautions=cautions)


def _flux_hangs_on(chosen: dict[str, str | None]) -> list[tuple[material_sets.MaterialRow, list[str]]]:
    """Return the rows known bad with this flux that one kind left out may make hold, and the kind."""
    found = []
    for row in material_sets.shipped_rows():
        missing = [kind for kind in row.when if chosen.get(kind) is None]
        stated = all(chosen.get(kind) in (None, value) for kind, value in row.when.items())
        if row.answer == material_sets.KNOWN_BAD and "flux" in row.when and len(missing) == 1 and stated:
            found += [(row, missing)] if chosen.get("flux") is not None else []
    return found


def _judged(chosen: dict[str, str | None]) -> list[Verdict]:
    """Return the verdicts on pairs that are both named."""
    return [verdict for verdict in material_sets.material_set(chosen) if "not known" not in verdict.reason]


def _mends(chosen: dict[str, str | None]) -> tuple[Edit, ...]:
    """Return the first single change of a material with which no pair is known bad, else the first two."""
    changes = [entry for entry in MENDS if chosen.get(entry[0]) not in (None, entry[2])]
    pairs = [(one,) for one in changes] + [(one, two) for i, one in enumerate(changes) for two in changes[i + 1 :]]
    for tried in pairs:
        after = {**chosen, **{kind: value for kind, _, value, _ in tried}}
        if worst(_judged(after)).outcome is not Outcome.FAIL:
            return tuple(Edit(f"materials.{field}", value, text) for _, field, value, text in tried)
    return ()


def _said(value: str) -> str | None:
    return None if value == UNKNOWN else value


def flag(value: bool | str) -> bool | None:
    """Return a yes or no of the brief, None where it is left unknown."""
    return value if isinstance(value, bool) else None


def _with_edits(verdict: Verdict, edits: tuple[Edit, ...]) -> Verdict:
    return replace(verdict, edits=edits)
