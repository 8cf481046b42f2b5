"""The tables as pycalphad reads them, and what is said where pycalphad is not installed."""

import sys

import pytest

from selector.composition import atomic_masses
from selector.errors import InputError
from selector.melting.database import database, database_text
from selector.melting.parameters import ELEMENTS, thermo


def test_every_phase_and_element_is_there_with_its_sites():
    base, tables = database(), thermo()
    assert set(base.phases) == set(tables.phases)
    assert set(base.elements) == {"VA", *(element.upper() for element in ELEMENTS)}
    for name, phase in tables.phases.items():
        assert tuple(float(ratio) for ratio in base.phases[name].sublattices) == pytest.approx(phase.site_ratios)
        theirs = [{species.name.capitalize() for species in part} for part in base.phases[name].constituents]
        assert theirs == [set(part) for part in phase.constituents]


def test_atomic_masses_are_the_products_own():
    for element in ELEMENTS:
        assert database().refstates[element.upper()]["mass"] == pytest.approx(float(atomic_masses()[element]))


def test_the_text_names_every_piece_once():
    text = database_text()
    assert text.count("\nPARAMETER ") == len(thermo().parameters)
    assert text.count("\nPHASE ") == len(thermo().phases)
    assert "FUNCTION GHSERAG 298.15 " in text


def test_without_pycalphad_it_is_said_in_words(monkeypatch):
    monkeypatch.setitem(sys.modules, "pycalphad", None)
    with pytest.raises(InputError, match=r"pycalphad: is not installed") as raised:
        database.__wrapped__()
    assert "data/melting.csv" in str(raised.value)
    assert "pip install pycalphad" in str(raised.value)
