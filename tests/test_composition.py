"""Compositions: spellings, refusals with their place, at%, mixing, and what holds for every composition."""

import dataclasses
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector import composition
from selector.composition import Composition, atomic_masses, decimal_text, from_mapping, mixed, parse
from selector.errors import InputError

SYMBOLS = sorted(atomic_masses())
SN63 = {"Sn": "63", "Pb": "37"}
SN62 = {"Sn": "62", "Pb": "36", "Ag": "2"}
SAC305 = {"Sn": "96.5", "Ag": "3", "Cu": "0.5"}
BI58 = {"Bi": "58", "Sn": "42"}
BI57AG1 = {"Bi": "57", "Sn": "42", "Ag": "1"}

SPELLINGS = [
    # As J-STD-006 writes alloys: symbol, then figure, the largest first.
    ("Sn63Pb37", SN63),
    ("Sn60Pb40", {"Sn": "60", "Pb": "40"}),
    ("Sn62Pb36Ag02", SN62),
    ("Sn62Pb36Ag2", SN62),
    ("Pb95Sn05", {"Pb": "95", "Sn": "5"}),
    ("Pb92.5Sn5Ag2.5", {"Pb": "92.5", "Sn": "5", "Ag": "2.5"}),
    ("Bi58Sn42", BI58),
    ("In52Sn48", {"In": "52", "Sn": "48"}),
    ("Au80Sn20", {"Au": "80", "Sn": "20"}),
    # As ISO 9453 writes them, with a decimal point.
    ("Sn96.5Ag3Cu0.5", SAC305),
    ("Sn99.3Cu0.7", {"Sn": "99.3", "Cu": "0.7"}),
    ("Sn95Sb5", {"Sn": "95", "Sb": "5"}),
    ("Sn91Zn9", {"Sn": "91", "Zn": "9"}),
    ("Sn96.3Ag3.7", {"Sn": "96.3", "Ag": "3.7"}),
    # As the journals write them: the first element is the balance.
    ("Sn-3.0Ag-0.5Cu", SAC305),
    ("Sn-3Ag-.5Cu", SAC305),
    ("Sn-37Pb", SN63),
    ("Sn-58Bi", BI58),
    ("Sn58Bi", BI58),
    ("58Bi-42Sn", BI58),
    ("42Sn58Bi", BI58),
    ("Bi-42Sn", BI58),
    ("Sn-57Bi-1Ag", BI57AG1),
    ("Sn-8Zn-3Bi", {"Sn": "89", "Zn": "8", "Bi": "3"}),
    ("Sn-0.7Cu-0.05Ni", {"Sn": "99.25", "Cu": "0.7", "Ni": "0.05"}),
    ("96.5Sn-3.0Ag-0.5Cu", SAC305),
    ("SnAg3.0Cu0.5", SAC305),
    ("SnAg3Cu0.5", SAC305),
    ("SnPb37", SN63),
    ("Sn3.8Ag0.7Cu", {"Sn": "95.5", "Ag": "3.8", "Cu": "0.7"}),
    # Slashes, lists, percent signs, dashes.
    ("Sn42/Bi57/Ag1", BI57AG1),
    ("42Sn/57Bi/1Ag", BI57AG1),
    ("63/37 Sn/Pb", SN63),
    ("63/37 SnPb", SN63),
    ("Sn/Pb 63/37", SN63),
    ("62/36/2 Sn/Pb/Ag", SN62),
    ("Sn:96.5;Ag:3;Cu:0.5", SAC305),
    ("Sn: 96.5, Ag: 3, Cu: 0.5", SAC305),
    ("Sn=63;Pb=37", SN63),
    ("63% Sn, 37% Pb", SN63),
    ("Sn 63 % Pb 37 %", SN63),
    ("Sn 37 Pb", SN63),
    ("  Sn - 3.0 Ag - 0.5 Cu  ", SAC305),
    ("Sn -3Ag -0.5Cu", SAC305),
    ("Sn–37Pb", SN63),
    ("Sn·37Pb", SN63),
    ("Sn_37Pb", SN63),
    # Case.
    ("SN63PB37", SN63),
    ("sn63pb37", SN63),
    ("SNAG3.0CU0.5", SAC305),
    ("snag3.0cu0.5", SAC305),
    ("sn-58bi", BI58),
    # One element.
    ("Sn", {"Sn": "100"}),
    ("IN", {"In": "100"}),
    ("100In", {"In": "100"}),
    ("Sn100", {"Sn": "100"}),
    # Tin-silver-copper in tenths of a per cent.
    ("SAC105", {"Sn": "98.5", "Ag": "1", "Cu": "0.5"}),
    ("SAC205", {"Sn": "97.5", "Ag": "2", "Cu": "0.5"}),
    ("SAC305", SAC305),
    ("sac 305", SAC305),
    ("SAC-305", SAC305),
    ("SAC387", {"Sn": "95.5", "Ag": "3.8", "Cu": "0.7"}),
    ("SAC405", {"Sn": "95.5", "Ag": "4", "Cu": "0.5"}),
]


@pytest.mark.parametrize(("text", "expected"), SPELLINGS, ids=[text for text, _ in SPELLINGS])
def test_spelling(text, expected):
    amounts = {element: Fraction(wt) for element, wt in expected.items()}
    assert sum(amounts.values()) == 100  # the table of this test is itself consistent
    assert dict(parse(text).parts) == amounts


def test_parts_stand_largest_first_and_ties_by_symbol():
    assert parse("Sn-8Zn-3Bi").elements == ("Sn", "Zn", "Bi")
    assert parse("Sn50Pb50").elements == ("Pb", "Sn")
    assert parse("Sn3Bi94Ag3").elements == ("Bi", "Ag", "Sn")
    assert parse("Sn-58Bi").matrix == "Bi"


def faults_of(text):
    with pytest.raises(InputError) as caught:
        parse(text)
    return caught.value.faults


REFUSALS = [
    # text, position (from 1), what the fault says, what else it must name
    ("Sn-3Xx", 5, "not an element", "Xx"),
    ("Sn63Qq37", 5, "not an element", "Qq"),
    ("SnPB37", 4, "not an element", "B"),
    ("xyz", 1, "not an element", "Xyz"),
    ("Sn60Pb50", 7, "do not add up", "110 wt%"),
    ("Sn60Pb30", 7, "do not add up", "90 wt%"),
    ("63/37/10 Sn/Pb/Ag", 7, "do not add up", "110 wt%"),
    ("Sn-60Pb-50Ag", 9, "do not add up", "110 wt%"),
    ("Sn-60Pb-40Ag", 9, "do not add up", "100 wt%"),
    ("Sn100Pb1", 8, "do not add up", "101 wt%"),
    ("Sn3", 3, "do not add up", "3 wt%"),
    ("Sn-150.5Pb", 4, "outside the range", "150.5 wt%"),
    ("Sn-0Ag", 4, "outside the range", "0.0 wt%"),
    ("Sn100.1", 3, "outside the range", "100.1 wt%"),
    ("Sn--3Ag", 4, "negative", "minus"),
    ("Sn -- 3Ag", 5, "negative", "minus"),
    ("Sn - -3Ag", 6, "negative", "minus"),
    ("Sn:-3", 4, "negative", "minus"),
    ("Sn=97;Ag= -3", 11, "negative", "minus"),
    ("96.5Sn, -3.5Ag", 9, "negative", "minus"),
    ("Sn-3Sn", 5, "given twice", "Sn"),
    ("Sn60Pb20Sn20", 9, "given twice", "Sn"),
    ("SnAg3Cu", 5, "1 figure for 3 elements", ""),
    ("Sn96,5Ag3Cu0,5", 3, "5 figures for 3 elements", "decimal points, not commas"),
    ("Sn-0,7Cu", 4, "2 figures for 2 elements", "decimal points, not commas"),
    ("SnPb", 3, "0 figures for 2 elements", ""),
    ("37Pb-Sn", 1, "1 figure for 2 elements", ""),
    ("Sn 3 .5Ag", 4, "2 figures for 2 elements", ""),
    ("Sn-3.0.5Ag", 7, "two decimal points", ""),
    ("99.5.5SnCu", 5, "two decimal points", ""),
    ("63/37", 1, "names no element", ""),
    ("%", 1, "names no element", ""),
    ("", 1, "is empty", ""),
    ("  \t ", 1, "is empty", ""),
    ("S" * 201, 1, "too long", ""),
    ("SAC306", 4, "shorthand", "105, 205, 305, 387, 405"),
    ("  SAC999", 6, "shorthand", "SAC999"),
    ("Sn-37Pb!", 8, "belongs in no composition", "'!'"),
    ("Sn(63)Pb37", 3, "belongs in no composition", "'('"),
    ("Sn−37Pb", 3, "belongs in no composition", "'−'"),
    ("Sn-٣Ag", 4, "belongs in no composition", "'٣'"),
    ("Sn-37Pb\0", 8, "belongs in no composition", "'\\x00'"),
]


@pytest.mark.parametrize(("text", "position", "problem", "named"), REFUSALS, ids=[repr(r[0][:20]) for r in REFUSALS])
def test_refusal_says_where_and_what(text, position, problem, named):
    fault = faults_of(text)[0]
    assert fault.where.endswith(f"position {position}")
    assert problem in fault.problem
    assert named in str(fault)


def test_longest_text_is_accepted_and_one_more_is_not():
    text = "Sn" + "0" * 195 + "100"
    assert len(text) == composition.LONGEST_TEXT
    assert parse(text) == parse("Sn")
    assert "too long" in faults_of(f"{text}.")[0].problem


def test_every_fault_of_a_spelling_is_reported_at_once():
    faults = faults_of("Xx63!Yy--37")
    assert [fault.where.rsplit(" ", 1)[1] for fault in faults] == ["1", "5", "6", "9"]


def test_a_hostile_spelling_cannot_flood_the_message():
    assert len(str(faults_of("9" * 200)[0])) < 400


@pytest.mark.parametrize(
    ("amounts", "where", "problem"),
    [
        ({"Sn": 63, "Xx": 37}, "brew, Xx", "not an element"),
        ({"Sn": 63, "Pb": -37}, "brew, Pb", "outside the range"),
        ({"Sn": 100, "Pb": 0}, "brew, Pb", "outside the range"),
        ({"Sn": 101}, "brew, Sn", "outside the range"),
        ({"Sn": "abc"}, "brew, Sn", "is not a number"),
        ({"Sn": ""}, "brew, Sn", "is not a number"),
        ({"Sn": "1/0"}, "brew, Sn", "is not a number"),
        ({"Sn": "1e99999999"}, "brew, Sn", "is not a number"),
        ({"Sn": float("nan")}, "brew, Sn", "is not a number"),
        ({"Sn": float("inf")}, "brew, Sn", "is not a number"),
        ({"Sn": True}, "brew, Sn", "is not a number"),
        ({"Sn": None}, "brew, Sn", "is not a number"),
        ({"Sn": [100]}, "brew, Sn", "is not a number"),
        ({"Sn": 63, "Pb": 36}, "brew", "do not add up"),
        ({"Sn": 63, "Pb": "37.00000001"}, "brew", "do not add up"),
        ({}, "brew", "do not add up"),
    ],
)
def test_mapping_is_refused(amounts, where, problem):
    with pytest.raises(InputError) as caught:
        from_mapping(amounts, "brew")
    (fault,) = caught.value.faults
    assert (fault.where, problem in fault.problem) == (where, True)


@pytest.mark.parametrize(
    ("amounts", "balance", "problem"),
    [
        ({"Sn": 3}, "Sn", "given twice"),
        ({"Ag": 60, "Cu": 40}, "Sn", "do not add up"),
        ({"Ag": 60, "Cu": 41}, "Sn", "do not add up"),
        ({"Ag": 3}, "Xx", "not an element"),
    ],
)
def test_mapping_with_balance_is_refused(amounts, balance, problem):
    with pytest.raises(InputError, match=problem):
        from_mapping(amounts, balance=balance)


def test_mapping_takes_every_kind_of_number_at_its_decimal_worth():
    made = from_mapping({"Sn": 96.5, "Ag": 3, "Cu": "0.3", "Ni": Fraction(1, 5)})
    assert made.parts == (("Sn", Fraction(193, 2)), ("Ag", 3), ("Cu", Fraction(3, 10)), ("Ni", Fraction(1, 5)))
    assert from_mapping({"Ag": 3, "Cu": 0.5}, balance="Sn") == parse("SAC305")


def test_mapping_reports_every_fault():
    with pytest.raises(InputError) as caught:
        from_mapping({"Xx": 1, "Sn": "abc", "Pb": -1})
    assert len(caught.value.faults) == 3


def test_a_composition_cannot_be_changed():
    with pytest.raises(dataclasses.FrozenInstanceError):
        parse("Sn").parts = ()


# at%, worked by hand from the abridged IUPAC 2021 atomic weights (g/mol): Sn 118.71, Pb 207.2, Bi 208.98, Ag 107.87,
# Cu 63.546, In 114.82, Au 196.97, Zn 65.38.
AT_PERCENT = [
    # 63/118.71 = 0.530705; 37/207.2 = 0.178571; sum 0.709277; Sn 0.530705/0.709277
    ("Sn-37Pb", {"Sn": 74.823, "Pb": 25.177}),
    # 58/208.98 = 0.277538; 42/118.71 = 0.353803; sum 0.631342; Bi 0.277538/0.631342
    ("Sn-58Bi", {"Bi": 43.960, "Sn": 56.040}),
    # 96.5/118.71 = 0.812905; 3/107.87 = 0.0278113; 0.5/63.546 = 0.00786831; sum 0.848585
    ("SAC305", {"Sn": 95.796, "Ag": 3.277, "Cu": 0.927}),
    # 52/114.82 = 0.452883; 48/118.71 = 0.404347; sum 0.857230
    ("In-48Sn", {"In": 52.831, "Sn": 47.169}),
    # 80/196.97 = 0.406153; 20/118.71 = 0.168478; sum 0.574631
    ("Au-20Sn", {"Au": 70.681, "Sn": 29.319}),
    # 91/118.71 = 0.766574; 9/65.38 = 0.137657; sum 0.904231
    ("Sn-9Zn", {"Sn": 84.776, "Zn": 15.224}),
    # 99.3/118.71 = 0.836492; 0.7/63.546 = 0.0110156; sum 0.847508
    ("Sn-0.7Cu", {"Sn": 98.700, "Cu": 1.300}),
]


@pytest.mark.parametrize(("text", "expected"), AT_PERCENT, ids=[text for text, _ in AT_PERCENT])
def test_at_percent(text, expected):
    found = parse(text).at_percent()
    assert {element: float(at) for element, at in found.items()} == pytest.approx(expected, abs=0.001)
    assert sum(found.values()) == 100


def test_mixing_by_mass():
    # 60 parts of 58Bi-42Sn and 40 of SAC305: Bi 0.6*58, Ag 0.4*3, Cu 0.4*0.5, Sn 0.6*42 + 0.4*96.5.
    made = mixed([(parse("Sn-58Bi"), 60), (parse("SAC305"), 40)])
    assert dict(made.parts) == {
        "Bi": Fraction("34.8"),
        "Ag": Fraction("1.2"),
        "Cu": Fraction("0.2"),
        "Sn": Fraction("63.8"),
    }
    assert made.designation() == "Sn-34.8Bi-1.2Ag-0.2Cu"


def test_mixing_counts_ratios_and_drops_what_has_no_mass():
    one, other = parse("Sn-37Pb"), parse("SAC305")
    assert mixed([(one, 0.3), (other, "0.1")]) == mixed([(one, 3), (other, Fraction(1))])
    assert mixed([(one, 0), (other, 7)]) == other
    assert mixed([(one, 1)]) == one


@pytest.mark.parametrize("masses", [[], [0], [-1, 2], [0, 0], [-1], [float("nan")], ["abc"], ["1/0"]])
def test_mixing_is_refused(masses):
    with pytest.raises(InputError, match="mixture"):
        mixed([(parse("Sn"), mass) for mass in masses])


def test_content_in_ppm_is_exact():
    assert parse("Sn-0.07Pb").ppm("Pb") == 700
    assert parse("Sn-0.1Pb").ppm("Pb") == 1000
    assert parse("Sn-37Pb").ppm("Cd") == 0


@pytest.mark.parametrize(
    ("text", "balance", "expected"),
    [
        ("SAC305", None, "Sn-3Ag-0.5Cu"),
        ("Sn-58Bi", None, "Bi-42Sn"),
        ("Sn-58Bi", "Sn", "Sn-58Bi"),
        ("Sn", None, "Sn"),
        ("Sn-0.0025Ni", None, "Sn-0.0025Ni"),
    ],
)
def test_designation(text, balance, expected):
    assert parse(text).designation(balance) == expected
    if balance is None:
        assert str(parse(text)) == expected


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (Fraction(100), "100"),
        (Fraction(0), "0"),
        (Fraction("0.5"), "0.5"),
        (Fraction("0.00000001"), "0.00000001"),
        (Fraction(1, 3), "0.3333"),
        (Fraction(200, 3), "66.6667"),
        (Fraction("350000"), "350000"),
    ],
)
def test_decimal_text(number, text):
    assert decimal_text(number) == text


@st.composite
def compositions(draw, longest=6):
    symbols = draw(st.lists(st.sampled_from(SYMBOLS), min_size=1, max_size=longest, unique=True))
    most = 10**10 // len(symbols) - 1
    amounts = {symbol: Fraction(draw(st.integers(1, most)), 10**8) for symbol in symbols[1:]}
    return from_mapping(amounts, balance=symbols[0])


@given(compositions(), st.data())
def test_every_designation_reads_back(made, data):
    assert parse(made.designation()) == made
    assert parse(made.designation(data.draw(st.sampled_from(made.elements)))) == made


@given(compositions(), st.data())
def test_every_other_spelling_reads_back(made, data):
    shuffled = data.draw(st.permutations(made.parts))
    amounts = [(element, decimal_text(wt)) for element, wt in shuffled]
    glued = "".join(f"{element}{wt}" for element, wt in amounts)
    assert parse(glued) == parse(glued.upper()) == parse(glued.lower()) == made
    assert parse(";".join(f"{element}:{wt}" for element, wt in amounts)) == made
    assert parse("-".join(f"{wt}{element}" for element, wt in amounts)) == made


@given(compositions())
def test_mass_to_atoms_and_back_is_exact(made):
    weights = {element: at * atomic_masses()[element] for element, at in made.at_percent().items()}
    total = sum(weights.values())
    assert from_mapping({element: 100 * weight / total for element, weight in weights.items()}) == made


@given(compositions(), compositions(), st.fractions(0, 1))
def test_a_mixture_lies_between_and_sums_to_100(one, other, share):
    made = mixed([(one, share), (other, 1 - share)])
    assert sum(wt for _, wt in made.parts) == 100
    for element in {*one.elements, *other.elements}:
        assert made.wt(element) == share * one.wt(element) + (1 - share) * other.wt(element)


@given(
    st.one_of(
        st.text(max_size=250),
        st.text(alphabet="SnAgPbCuBiSAC0123456789.-–/:;,=%_· ()+\t\n'\"", max_size=60),
        st.lists(st.sampled_from([*SYMBOLS, *"0123456789.-/:; %"]), max_size=14).map("".join),
    )
)
def test_any_text_gives_a_composition_or_an_input_error(text):
    try:
        made = parse(text)
    except InputError as error:
        faults = error.faults
    else:
        assert isinstance(made, Composition)
        assert sum(wt for _, wt in made.parts) == 100
        assert all(wt > 0 for _, wt in made.parts)
        return
    assert faults
    assert all("position" in fault.where for fault in faults)
