"""Faults as people read them: all at once, each on one line, never a flood."""

import pytest

from selector.errors import LONGEST_SHOWN, MOST_LISTED, Fault, InputError, shown


def test_fault_in_full():
    fault = Fault("brief: service.maximum_c", "is not a number", "'hot'", "-200 to 600 degC", "write a number")
    assert str(fault) == (
        "brief: service.maximum_c: is not a number; got 'hot'; allowed: -200 to 600 degC; write a number"
    )


@pytest.mark.parametrize(
    ("fault", "text"),
    [
        (Fault("here", "is wrong"), "here: is wrong"),
        (Fault("here", "is wrong", "7"), "here: is wrong; got 7"),
        (Fault("here", "is wrong", allowed="8"), "here: is wrong; allowed: 8"),
        (Fault("here", "is wrong", remedy="mend it"), "here: is wrong; mend it"),
    ],
)
def test_fault_leaves_out_what_it_lacks(fault, text):
    assert str(fault) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("Sn", "'Sn'"),
        ("a\nb\0", "'a\\nb\\x00'"),
        (7, "7"),
        (True, "True"),
        (None, "None"),
        (1.5, "1.5"),
        ([1, 2], "[1, 2]"),
        (10**18, "1000000000000000000"),
    ],
)
def test_shown(value, text):
    assert shown(value) == text


def test_shown_shortens_long_text_and_says_how_long_it_was():
    text = shown("x" * 10_000)
    assert len(text) < LONGEST_SHOWN + 30
    assert "(10,002 characters)" in text
    assert shown("x" * (LONGEST_SHOWN - 2)) == repr("x" * (LONGEST_SHOWN - 2))
    assert shown([0] * 1000).startswith("[0, 0, 0")


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("digits", [19, 300, 5000, 20_000])
def test_shown_survives_integers_that_python_would_not_print(digits, sign):
    text = shown(sign * 10**digits)
    assert "integer of about" in text
    assert int(text.split()[4]) == pytest.approx(digits + 1, rel=0.1)


def test_one_fault_and_two():
    one = InputError("the brief x.toml", [Fault("a", "is wrong")])
    two = InputError("the brief x.toml", iter([Fault("a", "is wrong"), Fault("b", "is wrong")]))
    assert str(one) == "the brief x.toml cannot be used: 1 fault.\n  - a: is wrong"
    assert str(two).startswith("the brief x.toml cannot be used: 2 faults.\n")
    assert two.faults == (Fault("a", "is wrong"), Fault("b", "is wrong"))
    assert two.what == "the brief x.toml"
    assert isinstance(two, ValueError)


def test_a_flood_is_cut_and_counted():
    error = InputError("it", [Fault(f"field{n}", "is wrong") for n in range(MOST_LISTED + 3)])
    lines = str(error).splitlines()
    assert len(lines) == 1 + MOST_LISTED + 1
    assert lines[-1] == "  … and 3 more"
    assert len(error.faults) == MOST_LISTED + 3
    assert "more" not in str(InputError("it", [Fault("f", "is wrong")] * MOST_LISTED))
