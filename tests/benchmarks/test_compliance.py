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
MOST_S = 8.0


def thousand():
    chance = random.Random(5)
    found = {}
    for index in range(ALLOYS):
        parts = {"Ag": chance.randint(1, 50) / 10, "Cu": chance.randint(1, 20) / 10}
        parts[chance.choice(["Bi", "Pb", "Sb", "In", "Cd", "Ni"])] = chance.randint(1, 900) / 10
        found[f"alloy {index}"] = from_mapping(parts, balance="Sn")
    return found


def test_a_thousand_alloys_against_all_rules():
    alloys, rules = thousand(), all_rules()
    asked = context(date(2026, 11, 25), equipment="consumer", judged="joint")
    begin = time.perf_counter()
    findings = evaluate_all(alloys, asked)
    seconds = time.perf_counter() - begin
    assert len(findings) == ALLOYS * len(rules)
    print(f"\n{ALLOYS / seconds:.0f} alloys a second, {len(findings)} findings in {seconds:.2f} s")
    assert seconds < MOST_S
