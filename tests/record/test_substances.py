"""CAS numbers of the elements: each check digit holds, and each agrees with what the rule files say of it."""

import pytest

from selector.compliance.rule_fields import is_cas
from selector.compliance.rulesets import all_rules
from selector.composition import atomic_masses
from selector.record.substances import of_cas, substances

# Rules of one element that stands in the table.
OF_THE_ELEMENT = [rule for rule in all_rules() if len(rule.elements) == 1 and rule.elements[0] in atomic_masses()]


def test_every_element_has_a_number_whose_check_digit_holds():
    assert list(substances()) == list(atomic_masses())
    assert all(is_cas(entry.cas) for entry in substances().values())


def test_numbers_agree_with_the_rule_files():
    compared = {}
    for rule in OF_THE_ELEMENT:
        if rule.counts == "total element" and rule.cas and "compound" not in rule.substance.split("and")[0]:
            compared.setdefault(rule.elements[0], set()).add(rule.cas)
    assert len(compared) >= 15
    assert {element for element, found in compared.items() if substances()[element].cas not in found} == set()


def test_the_way_back_from_a_number():
    assert of_cas("7440-31-5").element == "Sn"
    assert of_cas("8050-09-7") is None  # rosin: a good number, and no element


@pytest.mark.parametrize(
    ("number", "holds"),
    [
        # 7732-18-5, worked by hand: 8*1 + 1*2 + 2*3 + 3*4 + 7*5 + 7*6 = 105, and 105 modulo 10 is 5.
        ("7732-18-5", True),
        ("7732-18-4", False),
        ("7440-31-5", True),
        ("7440-13-5", False),
        ("7440315", False),
        ("", False),
        ("7440-31-5 ", False),
    ],
)
def test_the_check_digit(number, holds):
    assert is_cas(number) is holds
