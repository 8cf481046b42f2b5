"""A thousand alloys against every rule: alloys per second; run with `-m benchmark -s`."""

import random
import time
from datetime import date

import pytest

from selector.compliance.context import context
from selector.compliance.evaluation import evaluate_all
from selector.compliance.rulesets import all_rules
from selector.composition import from_mapping

pytestmark = pytest.mark.benchmark
ALLOYS = 1000
AIM_S = 1.0  # of processor time, on a quiet machine
MOST_S = 4.0
ELEMENTS = ("Ag", "Cu", "Bi", "Pb", "Sb", "In", "Cd", "Ni", "Zn", "Au")


def thousand():
    """Return random alloys of two to six elements, hardly two of them with a content in common."""
    chance = random.Random(5)
    found = {}
    for index in range(ALLOYS):
        parts = {
            element: chance.randint(1, 80_000) / 10_000 for element in chance.sample(ELEMENTS, chance.randint(1, 5))
        }
        found[f"alloy {index}"] = from_mapping(parts, balance="Sn")
    return found


def test_a_thousand_alloys_against_all_rules():
    alloys, rules = thousand(), all_rules()
    asked = context(date(2026, 11, 25), equipment="consumer", judged="joint")
    begin = time.process_time()
    findings = evaluate_all(alloys, asked)
    seconds = time.process_time() - begin
    assert len(findings) == ALLOYS * len(rules)
    told = f"{ALLOYS / seconds:.0f} alloys a second, {len(findings)} findings in {seconds:.2f} s of processor time"
    print(f"\n{told}; the aim is {AIM_S:g} s")
    assert seconds < MOST_S
