"""Four days on which the law changes: exactly which answers move between the day before, the day and the day after.

Facts from the project's reference list of restricted elements as read on 2026-11-25: Commission Delegated Directive
(EU) 2025/1802 (Annex III 7(a) and 7(a)-I to VII), the 2022 acts on Annex IV 27 and 48, the Korean decree as amended in
2025-04, and GB 26572-2025. Every answer that is not named in a row must stay as it is.
"""

from datetime import date, timedelta
from fractions import Fraction

import pytest

from selector.compliance.context import context
from selector.compliance.evaluation import evaluate
from selector.compliance.rulesets import all_rules
from selector.composition import parse

DAY = timedelta(days=1)
POWER = {"current_a": Fraction(5), "die_edge_mm": Fraction(3)}
USES = {
    "power die": {"equipment": "consumer", "application": "die attach", "figures": POWER},
    "small die": {  # case 07 (d): none of the tests of 7(a)-I holds
        "equipment": "consumer",
        "application": "die attach",
        "figures": {"current_a": Fraction("0.05"), "blocking_v": Fraction(8), "die_edge_mm": Fraction("0.28")},
    },
    "hand-soldered board": {"equipment": "consumer", "application": "board joint"},
    "ceramic balls": {"equipment": "information and telecommunication", "application": "ceramic ball-grid array"},
    "unknown joint": {"equipment": "consumer"},
    "unknown equipment": {},
    "magnet of a scanner": {"equipment": "medical device", "application": "superconducting circuit"},
    "coil of a scanner": {"equipment": "medical device", "application": "magnetic resonance"},
    "car": {"equipment": "vehicle", "application": "die attach"},
    "spacecraft": {"equipment": "space", "application": "die attach"},
    "Chinese catalogue": {"equipment": "consumer", "application": "board joint", "uses": ["china-catalogue"]},
    "GB by CE mark": {
        "equipment": "consumer",
        "application": "die attach",
        "figures": POWER,
        "uses": ["ce-declared"],
    },
}
OTHERS = tuple(f"EU-ROHS-X-7A-{number}" for number in ("II", "III", "V", "VI", "VII"))
OPEN = dict.fromkeys(OTHERS, ("not_applicable", "fail"))  # in force, and not of this use
WIDER = {"KR-ROHS-PB": ("unknown", "fail")}  # whether listed matters no more: all electrical products from 2028-01-01

# (day before, alloy, use): what moves overnight. The sub-entries apply from 2026-07-01, the day of national law.
SUB_ENTRIES_OPEN = {
    # I fits; II waits for conductivities and solidus; lead itself passed by 7(a) and now passes by I, which ends later.
    ("Pb95Sn5", "power die"): {
        **OPEN,
        "EU-ROHS-X-7A-I": ("not_applicable", "pass"),
        "EU-ROHS-X-7A-II": ("not_applicable", "unknown"),
        "EU-ROHS-X-7A-IV": ("not_applicable", "fail"),
        "EU-ROHS-PB": ("pass by III-7(a)", "pass by III-7(a)-I"),
    },
    ("Pb95Sn5", "small die"): {
        **OPEN,
        "EU-ROHS-X-7A-I": ("not_applicable", "fail"),
        "EU-ROHS-X-7A-II": ("not_applicable", "unknown"),
        "EU-ROHS-X-7A-IV": ("not_applicable", "fail"),
    },
    ("Pb95Sn5", "hand-soldered board"): {
        **OPEN,
        "EU-ROHS-X-7A-I": ("not_applicable", "fail"),
        "EU-ROHS-X-7A-IV": ("not_applicable", "fail"),
    },
    ("Pb95Sn5", "ceramic balls"): {
        **OPEN,
        "EU-ROHS-X-7A-I": ("not_applicable", "fail"),
        "EU-ROHS-X-7A-IV": ("not_applicable", "pass"),
        "EU-ROHS-PB": ("pass by III-7(a)", "pass by III-7(a)-IV"),
    },
    # The joint is not known, so 7(a) was open before and each sub-entry is open now.
    ("Pb95Sn5", "unknown joint"): {
        f"EU-ROHS-X-7A-{number}": ("not_applicable", "unknown") for number in ("I", "II", "III", "IV", "V", "VI", "VII")
    },
    # Great Britain takes goods that meet EU law, by whichever entry.
    ("Pb95Sn5", "GB by CE mark"): {
        **OPEN,
        "EU-ROHS-X-7A-I": ("not_applicable", "pass"),
        "EU-ROHS-X-7A-II": ("not_applicable", "unknown"),
        "EU-ROHS-X-7A-IV": ("not_applicable", "fail"),
        "EU-ROHS-PB": ("pass by III-7(a)", "pass by III-7(a)-I"),
        "UK-ROHS-PB": ("pass by III-7(a)", "pass by III-7(a)-I"),
        "UK-ROHS-CE-ROUTE": ("pass by III-7(a)", "pass by III-7(a)-I"),
    },
    # 84.9 % needs no use: it fits no entry, and each that opens says so.
    ("Pb84.9Sn15.1", "power die"): {
        **OPEN,
        "EU-ROHS-X-7A-I": ("not_applicable", "fail"),
        "EU-ROHS-X-7A-IV": ("not_applicable", "fail"),
    },
    ("Pb95Sn5", "car"): {},
    ("Pb95Sn5", "spacecraft"): {},
    ("SAC305", "power die"): {},
}
# 7(a) ends with 2027-06-30, as IV-27 and IV-48 do: a renewal filed in time would keep them, so none becomes a fail.
GENERIC_ENDS = {
    ("Pb95Sn5", "power die"): {"EU-ROHS-X-7A": ("pass", "unknown")},  # lead passes on by I
    ("Pb95Sn5", "small die"): {"EU-ROHS-X-7A": ("pass", "unknown"), "EU-ROHS-PB": ("pass by III-7(a)", "unknown")},
    ("Pb95Sn5", "hand-soldered board"): {
        "EU-ROHS-X-7A": ("pass", "unknown"),
        "EU-ROHS-PB": ("pass by III-7(a)", "unknown"),
    },
    ("Pb95Sn5", "ceramic balls"): {"EU-ROHS-X-7A": ("pass", "unknown")},
    ("Pb95Sn5", "unknown joint"): {},  # open before and after
    ("Pb95Sn5", "unknown equipment"): {},
    ("Sn63Pb37", "magnet of a scanner"): {
        "EU-ROHS-X-IV-48": ("pass", "unknown"),
        "EU-ROHS-PB": ("pass by IV-48", "unknown"),
    },
    ("Sn63Pb37", "coil of a scanner"): {
        "EU-ROHS-X-IV-27": ("pass", "unknown"),
        "EU-ROHS-PB": ("pass by IV-27", "unknown"),
    },
    ("Sn63Pb37", "hand-soldered board"): {},
    ("Pb84.9Sn15.1", "power die"): {},
    ("Pb95Sn5", "car"): {},
    ("Pb95Sn5", "spacecraft"): {},
    ("SAC305", "power die"): {},
    ("Sn42Bi58", "hand-soldered board"): {},
}
# The sub-entries end with 2027-12-31; and on the next day Korea's limits reach all electrical products.
SUB_ENTRIES_END = {
    ("Pb95Sn5", "power die"): {
        "EU-ROHS-X-7A-I": ("pass", "unknown"),
        "EU-ROHS-PB": ("pass by III-7(a)-I", "unknown"),
        **WIDER,
    },
    ("Pb95Sn5", "ceramic balls"): {
        "EU-ROHS-X-7A-IV": ("pass", "unknown"),
        "EU-ROHS-PB": ("pass by III-7(a)-IV", "unknown"),
        **WIDER,
    },
    ("Pb95Sn5", "GB by CE mark"): {
        "EU-ROHS-X-7A-I": ("pass", "unknown"),
        "EU-ROHS-PB": ("pass by III-7(a)-I", "unknown"),
        "UK-ROHS-PB": ("pass by III-7(a)-I", "unknown"),
        "UK-ROHS-CE-ROUTE": ("pass by III-7(a)-I", "unknown"),
        **WIDER,
    },
    ("Pb95Sn5", "small die"): WIDER,  # II was open for its figures and is open for its day
    ("Pb95Sn5", "hand-soldered board"): WIDER,  # open since 7(a) lapsed
    ("Sn63Pb37", "hand-soldered board"): WIDER,
    ("Bi50Pb26.7Sn13.3Cd10", "hand-soldered board"): {**WIDER, "KR-ROHS-CD": ("unknown", "fail")},
    ("Sn63Pb37", "magnet of a scanner"): {},  # medical devices stay outside
    ("Sn63Pb37", "unknown equipment"): {},  # listed or not, electrical or not: not known on either day
    ("SAC305", "power die"): {},
    # A car might have been on the list of kinds; it is none of the electrical products.
    ("Pb95Sn5", "car"): {
        "KR-ROHS-PB": ("unknown", "not_applicable"),
        "KR-ROHS-CD": ("pass", "not_applicable"),
        "KR-ROHS-HG": ("pass", "not_applicable"),
    },
}
# China: another text, the same answers (GB 26572-2025 keeps limits and both groups).
CHINESE_TEXT = {
    ("Sn63Pb37", "Chinese catalogue"): {},
    ("Pb95Sn5", "Chinese catalogue"): {},
    ("SAC305", "Chinese catalogue"): {},
    ("Sn63Pb37", "hand-soldered board"): {},
}
TABLE = [
    (last, *case, moved)
    for last, cases in (
        (date(2026, 6, 30), SUB_ENTRIES_OPEN),
        (date(2027, 6, 30), GENERIC_ENDS),
        (date(2027, 12, 31), SUB_ENTRIES_END),
        (date(2027, 7, 31), CHINESE_TEXT),
    )
    for case, moved in cases.items()
]


def answers(alloy, use, on):
    """Return every rule's answer, with the exemption that saves."""
    facts = dict(USES[use])
    asked = context(on, facts.pop("uses", ()), judged="joint", **facts)
    solder = parse(alloy)
    found = [evaluate(entry, solder, asked) for entry in all_rules()]
    return {
        entry.rule_id: f"{entry.outcome}{' by ' + entry.exemption if entry.exemption else ''}{entry.duty}"
        for entry in found
    }


def moved(alloy, use, on):
    then, now = answers(alloy, use, on), answers(alloy, use, on + DAY)
    return {rule_id: (then[rule_id], now[rule_id]) for rule_id in then if then[rule_id] != now[rule_id]}


def bare(rule_id, text):
    """Return an answer as the table tells it: of an entry by itself the exemption goes without saying."""
    return text.split(" by ")[0] if "-X-" in rule_id else text


@pytest.mark.parametrize(("last", "alloy", "use", "expected"), TABLE, ids=lambda value: str(value)[:24])
def test_exactly_these_answers_move_overnight(last, alloy, use, expected):
    found = {key: tuple(bare(key, text) for text in pair) for key, pair in moved(alloy, use, last).items()}
    assert found == expected
    # Neither the night before the change nor the night after it moves anything.
    assert moved(alloy, use, last - DAY) == {}
    assert moved(alloy, use, last + DAY) == {}


def test_the_text_of_china_changes_on_its_day():
    def clause(on):
        asked = context(on, ["china-catalogue"], judged="joint", equipment="consumer")
        (rule,) = (entry for entry in all_rules() if entry.id == "CN-ROHS-PB")
        return evaluate(rule, parse("Sn63Pb37"), asked)

    before, after = clause(date(2027, 7, 31)), clause(date(2027, 8, 1))
    assert "GB/T 26572-2011" in before.clause
    assert "GB 26572-2025" in after.clause
    assert before.next_change.day == date(2027, 8, 1)
    assert "the answer stays" in before.next_change.becomes


def test_before_the_catalogue_china_asked_for_marking_alone():
    """Marking since 2016-07-01, limits for the catalogue since 2019-03-12."""
    (rule,) = (entry for entry in all_rules() if entry.id == "CN-ROHS-PB")

    def at(on, *words):
        found = evaluate(rule, parse("Sn63Pb37"), context(on, words, judged="joint", equipment="consumer"))
        return f"{found.outcome} {found.duty}".strip()

    assert at(date(2016, 6, 30), "china-catalogue") == "not_applicable"
    assert at(date(2016, 7, 1), "china-catalogue") == "duty mark-and-disclose"
    assert at(date(2019, 3, 11)) == "duty mark-and-disclose"
    assert at(date(2019, 3, 12)) == "unknown"
    assert at(date(2019, 3, 12), "china-catalogue") == "fail"
