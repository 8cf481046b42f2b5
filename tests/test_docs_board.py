"""Each worked figure of the pages on the board is what the functions give, as printed; policy as it ships."""

import re
from pathlib import Path

import pytest

from selector import units
from selector.composition import parse
from selector.joint import blends, finish, geometry, lines, mixed
from selector.policy import policy
from selector.process import (
    classification,
    dissolution,
    energy,
    footprint,
    heat,
    printing,
    profile,
    stack,
    standoff,
    warpage,
    window,
)

DOCS = Path(__file__).parents[1] / "docs"
PAGES = ("joint", "window", "printing", "warpage", "footprint", "heat")
ROOMS = (
    units,
    blends,
    finish,
    geometry,
    lines,
    mixed,
    classification,
    dissolution,
    energy,
    footprint,
    heat,
    printing,
    profile,
    stack,
    standoff,
    warpage,
    window,
)
KNOWN = {"parse": parse}
for room in ROOMS:
    own = {name: thing for name, thing in vars(room).items() if getattr(thing, "__module__", "") == room.__name__}
    assert not set(own) & set(KNOWN), "two functions of one name"
    KNOWN |= own


def rows(page, heading):
    """Return the pairs of cells of every table of a page with this heading."""
    found, inside = [], False
    for line in (DOCS / f"{page}.md").read_text(encoding="utf-8").splitlines():
        cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
        if line.startswith(f"| {heading} |"):
            inside = True
        elif not line.startswith("|"):
            inside = False
        elif inside and set(cells[0]) - set("-"):
            found.append((cells[0].strip("`"), cells[1]))
    return found


WORKED = [(page, call, told) for page in PAGES for call, told in rows(page, "worked")]
POLICY = [(page, name, told) for page in PAGES for name, told in rows(page, "policy")]


def test_every_page_has_worked_examples_symbols_and_sources():
    for page in PAGES:
        assert len(rows(page, "worked")) >= 8, page
        text = (DOCS / f"{page}.md").read_text(encoding="utf-8")
        assert "**Sources.**" in text
        assert "symbol" in text.casefold()


@pytest.mark.parametrize(("page", "call", "told"), WORKED)
def test_a_worked_figure_is_what_the_function_gives(page, call, told):
    printed = re.match(r"-?[0-9.]+", told).group()
    decimals = len(printed.partition(".")[2])
    found = eval(call, {"__builtins__": {}}, KNOWN)
    assert f"{float(found):.{decimals}f}" == printed, (call, float(found))


@pytest.mark.parametrize(("page", "name", "told"), POLICY)
def test_a_policy_figure_is_what_ships(page, name, told):
    table, figure = name.split(".")
    assert getattr(getattr(policy(), table), figure) == float(told)
