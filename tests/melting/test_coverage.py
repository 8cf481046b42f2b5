"""What is covered, with which trust: grades by the systems that matter, traces, refusals, and a complete table."""

from itertools import combinations

import pytest

from selector.composition import parse
from selector.errors import InputError
from selector.melting.coverage import GRADES, IN_WORDS, coverage, systems
from selector.melting.parameters import ELEMENTS


def test_every_pair_and_every_three_of_the_eight_has_an_entry():
    rules = systems()
    assert rules.elements.covered == ELEMENTS
    assert set(rules.binary) == {"-".join(pair) for pair in combinations(ELEMENTS, 2)}
    assert set(rules.ternary) == {"-".join(three) for three in combinations(ELEMENTS, 3)}


def test_entries_hold_known_grades_and_say_why_where_it_is_not_the_best():
    rules = systems()
    for name, entry in (*rules.binary.items(), *rules.ternary.items()):
        assert entry.grade in GRADES, name
        assert entry.grade == "assessed" or entry.note, name
    widths = [getattr(rules.half_width_k, grade) for grade in GRADES]
    assert widths == sorted(widths)
    assert set(IN_WORDS) == set(GRADES)


def test_a_system_of_three_is_no_better_than_its_pairs_unless_it_was_checked():
    # An entry with a share of its own rests on a check of that system; the others extrapolate from their pairs.
    rules = systems()
    for name, entry in rules.ternary.items():
        if entry.from_wt is None:
            pairs = ["-".join(pair) for pair in combinations(name.split("-"), 2)]
            assert entry.grade == max((rules.binary[pair].grade for pair in pairs), key=GRADES.index), name


@pytest.mark.parametrize(
    ("name", "grade", "because"),
    [
        ("Sn", "assessed", ()),
        ("Sn-40Bi", "assessed", ()),
        ("Sn-37Pb", "assessed", ()),
        ("Sn-3.4Ag-4.8Bi", "assessed", ()),
        ("SAC305", "fitted", ("Ag-Cu-Sn",)),
        ("In-3Ag", "fitted", ("Ag-In",)),
        ("Sn-20Bi-10In", "fitted", ("Bi-In", "Bi-In-Sn")),
        ("Sn-20In-2.8Ag", "indicative", ("Ag-In-Sn",)),
        ("In-46Sn-1.8Zn", "indicative", ("In-Zn",)),
        ("In-40Pb", "fitted", ("In-Pb",)),
        ("Pb-5In-2.5Ag", "indicative", ("In-Pb",)),
        # Above 10 wt% silver Ag-Sb-Sn leaves what was assessed.
        ("Sn-10Ag-5Sb", "fitted", ("Ag-Sb",)),
        ("Sn-10.1Ag-5Sb", "indicative", ("Ag-Sb-Sn",)),
        # Above 60 wt% lead In-Pb does.
        ("In-60Pb", "fitted", ("In-Pb",)),
        ("In-60.1Pb", "indicative", ("In-Pb",)),
    ],
)
def test_the_lowest_grade_of_the_systems_that_matter(name, grade, because):
    found = coverage(parse(name))
    assert found.grade == grade
    assert found.half_width_k == getattr(systems().half_width_k, grade)
    assert tuple(entry.split(":")[0] for entry in found.deciding) == because
    assert found.in_words.startswith(f"{grade}: ")
    assert f"{found.half_width_k:g} K" in found.in_words


@pytest.mark.parametrize(
    ("name", "grade"),
    [
        # A pair with the element of largest share counts from 0.1 wt%: Cu-Sb is none with tin, and counts from 2 wt%.
        ("Sn-0.09In", "assessed"),
        ("In-0.09Zn", "assessed"),
        ("In-0.1Zn", "indicative"),
        ("Sn-1.9Cu-1.9Sb", "fitted"),
        ("Sn-2Cu-2Sb", "indicative"),
        # Four elements with indium and lead are indicative from 0.1 wt% of both.
        ("Sn-0.1In-0.1Pb-1Ag", "indicative"),
        ("Sn-0.09In-0.1Pb-1Ag", "assessed"),
    ],
)
def test_the_shares_from_which_a_system_counts(name, grade):
    assert coverage(parse(name)).grade == grade


def test_four_elements_with_indium_and_lead_say_so():
    assert "In-Pb with two more elements" in coverage(parse("Bi-21In-18Pb-12Sn")).deciding


@pytest.mark.parametrize(
    ("name", "set_aside"),
    [("Sn-0.7Cu-0.2Ni", "0.2 wt% Ni"), ("Sn-0.7Cu-0.05Ge", "0.05 wt% Ge"), ("Sn-3Ag-0.1Co", "0.1 wt% Co")],
)
def test_traces_are_set_aside_named_and_shared_out(name, set_aside):
    found = coverage(parse(name))
    assert found.set_aside_in_words.startswith(f"{set_aside} set aside")
    assert sum(wt for _, wt in found.composition.parts) == 100
    assert set(found.elements) <= set(ELEMENTS)
    assert found.elements == tuple(sorted(found.elements))
    assert coverage(parse("Sn-3Ag")).set_aside_in_words == ""


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("Sn-0.7Cu-0.21Ni", "0.21 wt% Ni is not covered"),
        ("Sn-0.06Ge", "a trace of Ge up to 0.05 wt%"),
        ("Sn-0.06P", "a trace of P up to 0.05 wt%"),
        ("Sn-0.11Co", "a trace of Co up to 0.1 wt%"),
        ("Au-20Sn", "80 wt% Au is not covered"),
        ("Au-0.09Ge", "99.91 wt% Au is not covered"),
    ],
)
def test_more_than_a_trace_is_refused(name, told):
    with pytest.raises(InputError) as raised:
        coverage(parse(name))
    assert told in str(raised.value)
    assert "Ag, Bi, Cu, In, Pb, Sb, Sn, Zn" in str(raised.value)


def test_an_alloy_of_traces_alone_is_refused(monkeypatch):
    # Traces are at most 0.2 wt%, so this needs a table that calls all of an element a trace.
    import selector.melting.coverage as module

    honest = module.systems()
    wide = honest.model_copy(update={"traces": honest.traces.model_copy(update={"wt": {"Au": 100.0}})})
    monkeypatch.setattr(module, "systems", lambda: wide)
    with pytest.raises(InputError, match="holds no element that is covered"):
        coverage(parse("Au"))


def test_several_elements_that_are_not_covered_are_told_at_once():
    with pytest.raises(InputError) as raised:
        coverage(parse("Sn-10Cd-10Ga"))
    assert len(raised.value.faults) == 2
