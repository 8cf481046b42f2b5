"""What the life of a joint says in words and rows; the same on the command line and on the page."""

from collections.abc import Mapping
from types import MappingProxyType

from selector.durability.estimate import FAILS, OPEN, SHORT, Estimate
from selector.durability.legality import RULE as TEST_RULE
from selector.durability.safety import QUESTIONS
from selector.durability.tin_pest import RULE as PEST_RULE
from selector.durability.tin_pest import TOUGHNESS
from selector.figures import figure, spread
from selector.lifetime.screens import Answer, Group, Life
from selector.process.material_sets import RULE as SET_RULE
from selector.verdict import Outcome, Verdict

OUTCOMES: Mapping[Outcome, str] = MappingProxyType(
    {
        Outcome.PASS: "holds",
        Outcome.FAIL: "fails",
        Outcome.UNKNOWN: "open",
        Outcome.DUTY: "duty",
        Outcome.NOT_APPLICABLE: "does not apply",
    }
)
# A row of the material sets has words of its own.
SETS: Mapping[Outcome, str] = MappingProxyType(
    {Outcome.PASS: "compatible", Outcome.FAIL: "known bad", Outcome.UNKNOWN: "needs a test"}
)
UNTESTED, NOT_STATED = "untested", "not stated"
RULES: Mapping[str, str] = MappingProxyType(
    {
        "service_heat": "service heat",
        "test_condition": "may be tested",
        "gold": "gold in the joint",
        "electromigration": "current density",
        "galvanic": "couple of metals",
        "tin_pest": "tin pest",
        "material_set": "material set",
    }
)
NO_DATA = "no data"
# What an input is called where people are asked for it.
TITLES: Mapping[str, str] = MappingProxyType(
    {
        "service_max_c": "service maximum, degC",
        "service_min_c": "service minimum, degC",
        "swing_k": "swing of one cycle, K",
        "dwell_min": "half-cycle dwell, min",
        "cycles_per_day": "cycles a day",
        "years": "life, years",
        "allowed_share": "share that may have failed",
        "distance_mm": "distance from the neutral point, mm",
        "height_um": "solder height, um",
        "board_ppm": "expansion of the board, ppm/K",
        "part_ppm": "expansion of the part, ppm/K",
        "stiffness_n_mm": "stiffness of the lead, N/mm",
        "area_mm2": "effective area of the joint, mm2",
        "condition": "standard test",
        "test_cycles_per_day": "test cycles a day",
        "test_dwell_min": "hot dwell of the test, min",
        "gold_um": "gold on the pad, um",
        "print_um": "height of the print, um",
        "solder_mg": "solder in the joint, mg",
        "pad_area_mm2": "area under gold, mm2",
        "current_a": "current, A",
        "opening_um": "opening of the joint, um",
        "test_density_a_cm2": "current density of a test, A/cm2",
        "test_joint_c": "joint in that test, degC",
        "coldest_c": "coldest service or storage, degC",
        "underfill_ppm": "expansion of the underfill, ppm/K",
        "underfill_poisson": "Poisson ratio of the underfill",
        "underfill_glass_c": "glass transition of the underfill, degC",
        "plane_ppm": "expansion in the plane, ppm/K",
        "solder_ppm": "expansion of the solder, ppm/K",
    }
)


def finding(life: Life) -> str:
    """Return the joint's life in one sentence or two: heat, what fails, what has no data."""
    onset = life.asked.onset
    unit = "" if onset.interval is None else " degC"
    melts = f"{life.asked.name}: remelt onset {spread(onset.value, onset.low, onset.high)}{unit}"
    answers = [answer for group in life.groups for answer in group.answers]
    ratios = [a for a in answers if isinstance(a, Estimate) and a.name == "homologous temperature"]
    heat = next((a.text for a in ratios if a.is_known), "")
    told = f"{melts}; service at {heat.removesuffix(' 1')} of it in kelvin" if heat else melts
    # What heat of that share means; a joint that is rejected, or open, has a sentence of its own.
    told += next((f" ({a.law.partition(': ')[2]})" for a in ratios if a.is_known and not a.standing), "")
    bad = [a for a in answers if isinstance(a, Verdict) and a.outcome is Outcome.FAIL]
    short = [_short(a, life) for a in answers if isinstance(a, Estimate) and a.standing in (FAILS, SHORT)]
    tests = [a.subject.split(",")[0] for a in bad if a.rule == TEST_RULE]
    fails = [_name(a) for a in bad if a.rule != TEST_RULE]
    unsettled = dict.fromkeys(_name(a) for a in answers if state(a) == OPEN and _rule(a) != TEST_RULE)
    none = dict.fromkeys(_name(a) for a in answers if state(a) == NO_DATA)
    parts = [f"{told[:1].upper()}{told[1:]}." for told in dict.fromkeys(short)]
    parts += [f"Fails: {', '.join(dict.fromkeys(fails))}."] if fails else []
    parts += [] if parts or life.faults else ["No screen fails that could be asked."]
    parts += [f"Open: {', '.join(unsettled)}."] if unsettled else []
    parts += [f"Not to be tested by {', '.join(tests)}: too near the onset."] if tests else []
    parts += [f"No data: {', '.join(none)}."] if none else []
    count = len(life.faults)
    parts += [f"{count} input{'s are' if count != 1 else ' is'} refused."] if count else []
    return f"{told}. {' '.join(parts)}"


def fails(life: Life) -> bool:
    """Return whether something is rejected, fails, or falls short of what is asked; a test too hot to run does not."""
    answers = [answer for group in life.groups for answer in group.answers]
    return any(
        answer.standing in (FAILS, SHORT)
        if isinstance(answer, Estimate)
        else answer.outcome is Outcome.FAIL and answer.rule != TEST_RULE
        for answer in answers
    )


def _short(answer: Estimate, life: Life) -> str:
    """Return an estimate that misses a demand, in words."""
    allowed = life.asked.allowed_share
    if answer.unit != "%" or allowed is None:
        return f"the joint {_rejected(answer.law.partition(': ')[2])}"
    asked = f"{figure(life.asked.years)} years asked, {figure(100 * allowed)} % allowed"
    value, ends = figure(answer.value, 3), f"{figure(answer.low, 3)} to {figure(answer.high, 3)}"
    return f"{value} % ({ends}) failed in the {asked}: {answer.standing}"


def _rejected(band: str) -> str:
    """Return the band `rejected: softens, and no test result carries over` as the predicate of a sentence."""
    word, _, why = band.partition(": ")
    return f"{why.partition(',')[0]} in service: {word}" if why else band


def state(answer: Answer) -> str:
    """Return what an answer is, in a word or two."""
    if isinstance(answer, Estimate):
        return (answer.standing or "screened") if answer.is_known else NO_DATA
    if answer.rule == PEST_RULE and answer.outcome is Outcome.PASS and answer.cautions[0] != TOUGHNESS:
        return "caution"
    if answer.rule != SET_RULE:
        return OUTCOMES[answer.outcome]
    if answer.outcome is Outcome.UNKNOWN and not answer.reason.startswith(("needs", "own")):
        return UNTESTED if answer.reason.startswith(UNTESTED) else NOT_STATED
    return SETS[answer.outcome]


def _rule(answer: Answer) -> str:
    return "" if isinstance(answer, Estimate) else answer.rule


def _name(answer: Answer) -> str:
    if isinstance(answer, Estimate):
        return answer.name
    return f"{RULES.get(answer.rule, answer.rule)}{f', {answer.subject}' if answer.subject else ''}"


def row(answer: Answer) -> dict[str, str]:
    """Return an answer as a row: nothing of it stands without law, source, span and flags."""
    if isinstance(answer, Estimate):
        told = answer.text.removesuffix(" 1")
        law = answer.law if answer.is_known else "none"
        trust = f"{answer.origin}, {answer.grade}" if answer.is_known else "-"
    else:
        told = answer.reason
        unit = "" if answer.measured is None else f" {answer.measured.unit}"
        named = "least onset for this test" if answer.rule == TEST_RULE else "limit"
        law = "rule of practice" if answer.limit is None else f"{named} {figure(answer.limit)}{unit}"
        trust = "practice"
    return {
        "quantity": _name(answer),
        "answer": told,
        "standing": state(answer),
        "law": law,
        "flags": "; ".join(flags_of(answer)) or "-",
        "source": answer.source,
        "trust": trust,
    }


def flags_of(answer: Answer) -> tuple[str, ...]:
    """Return what has to be read beside an answer: limits of validity, thresholds, cautions."""
    if isinstance(answer, Estimate):
        return answer.flags
    return tuple(filter(None, (answer.threshold, *answer.cautions)))


def missing_text(group: Group) -> str:
    """Return what would have to be stated for more of a group; empty where nothing is missing."""
    if not group.missing:
        return ""
    return f"Not asked further: state {', '.join(TITLES.get(name, name) for name in group.missing)}."


def rows(life: Life) -> list[dict[str, str]]:
    """Return every answer as a row with its group, for a spreadsheet."""
    return [{"screen": group.title, **row(answer)} for group in life.groups for answer in group.answers]


def questions_open(life: Life) -> tuple[str, ...]:
    """Return the safety questions that nobody has answered."""
    return tuple(question for question in QUESTIONS.values() if any(question in told for told in life.cautions))


def plain(life: Life) -> dict[str, object]:
    """Return the life of a joint as plain data."""
    onset = life.asked.onset
    return {
        "alloy": life.asked.name,
        "composition": str(life.asked.composition),
        "remelt_onset_c": {"value": onset.value, "low": onset.low, "high": onset.high, "source": onset.source},
        "finding": finding(life),
        "screens": [
            {
                "screen": group.title,
                "answers": [_plain(answer) for answer in group.answers],
                "missing": list(group.missing),
                "notes": list(group.notes),
            }
            for group in life.groups
        ],
        "cautions": list(life.cautions),
    }


def _plain(answer: Answer) -> dict[str, object]:
    told: dict[str, object] = {**row(answer)}
    if isinstance(answer, Verdict):
        return told | {
            "outcome": str(answer.outcome),
            "limit": answer.limit,
            "margin": answer.margin,
            "threshold": answer.threshold,
            "cautions": list(answer.cautions),
        }
    return told | {
        "value": answer.value,
        "low": answer.low,
        "high": answer.high,
        "unit": answer.unit,
        "why": answer.why,
        "flags": list(answer.flags),
    }
