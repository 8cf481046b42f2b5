"""The thermodynamic tables: every expression as another engine reads it, and every fault said in words."""

import shutil

import numpy as np
import pytest

from selector.errors import InputError
from selector.melting.database import database
from selector.melting.parameters import (
    ELEMENTS,
    T_HIGH_K,
    T_LOW_K,
    read_thermo,
    systems_table,
    thermo,
    thermo_folder,
    thermo_hash,
)

# On both sides of every kind of edge: room temperature, melting points, 600 K, the hottest that is asked.
TEMPERATURES_K = np.array([298.15, 350.0, 429.76, 505.07, 505.08, 544.56, 599.9, 600.7, 692.7, 903.8, 1234.9, 1699.0])


def rows_of_the_other_engine():
    """Return what pycalphad holds: (phase, constituents, kind, order) -> sympy expression."""
    from tinydb import where

    held = database()
    return {
        (
            row["phase_name"],
            tuple(tuple(species.name.capitalize() for species in part) for part in row["constituent_array"]),
            row["parameter_type"],
            row["parameter_order"],
        ): row["parameter"]
        for row in held.search(where("parameter_type").one_of(["G", "L"]))
    }


def test_every_parameter_is_what_the_other_engine_reads_at_every_temperature():
    from symengine import Lambdify, Symbol

    theirs, tables = rows_of_the_other_engine(), thermo()
    keys = [(p.phase, p.constituents, p.kind, p.order) for p in tables.parameters]
    assert len(theirs) == len(keys) > 300
    symbols = {Symbol(name): expression for name, expression in database().symbols.items()}
    # A liquid's function names its solid's: twice in is enough, and `Lambdify` raises where a name is left.
    expressions = [theirs[key].xreplace(symbols).xreplace(symbols) for key in keys]
    evaluate = Lambdify([Symbol("T")], expressions)
    for t_k, ours in zip(TEMPERATURES_K, tables.at(TEMPERATURES_K).T, strict=True):
        for key, own, other in zip(keys, ours, evaluate([t_k]), strict=True):
            assert own == pytest.approx(other, abs=1e-6, rel=1e-10), (key, t_k)


def test_pieces_meet_at_their_edges():
    # A Gibbs energy is continuous: half a joule is the rounding of the published coefficients.
    tables = thermo()
    edges = tables.breaks_k
    jump = np.abs(tables.at(edges + 1e-9) - tables.at(edges - 1e-9))
    assert len(edges) > 5
    assert jump.max() < 0.5, [tables.parameters[k] for k in np.flatnonzero(jump.max(axis=1) >= 0.5)]


def test_a_phase_holds_an_end_member_for_every_element_that_it_takes():
    held = {(p.phase, p.constituents) for p in thermo().parameters if p.kind == "G" and p.order == 0}
    for phase in thermo().phases.values():
        if len(phase.constituents) == 1:
            for element in phase.constituents[0]:
                assert (phase.id, ((element,),)) in held
    assert thermo().phases["LIQUID"].constituents == (ELEMENTS,)


def test_pairs_are_written_in_alphabetical_order():
    # The order signs odd interactions: the engine reads the first element as the positive one.
    for parameter in thermo().parameters:
        for names in parameter.constituents:
            assert list(names) == sorted(names), parameter


def test_a_copy_of_the_tables_reads_alike_and_has_the_same_hash(tmp_path):
    again = read_thermo(shutil.copytree(thermo_folder(), tmp_path / "thermo"))
    assert again.hash == thermo().hash
    assert np.array_equal(again.coefficients, thermo().coefficients)


# Tables small enough to break in every way. Rows are numbered from the heading, which is row 1.
SMALL = {
    "functions.csv": """function,t_low_k,t_high_k,expression
GHSERAG,298.15,1234.93,-7209.512+118.202013*T-23.8463314*T*LN(T)+12011*T**(-1)
GHSERAG,1234.93,3000,-15095.252+190.266404*T
GLIQAG,298.15,3000,+11025.076-8.89102*T+GHSERAG
""",
    "phases.csv": """phase,site_ratios,constituents,name,note
LIQUID,1,"AG,SN",liquid,
AG3SN,0.75:0.25,"AG:SB,SN",Ag3Sn,
""",
    "parameters.csv": """phase,constituents,kind,order,t_low_k,t_high_k,expression
LIQUID,AG,G,0,298.15,3000,+GLIQAG
LIQUID,"AG,SN",L,0,298.15,3000,+100*T**2
AG3SN,AG:SN,G,0,298.15,600,+5*T
AG3SN,AG:SN,G,0,600,3000,+3000+T
""",
    "sources.csv": "source\n",
    "systems.toml": "[elements]\ncovered = []\n",
}


@pytest.fixture
def folder(tmp_path):
    for name, text in SMALL.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def edited(folder, file, old, new):
    path = folder / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return folder


def test_small_tables_read_as_worked_by_hand(folder):
    tables = read_thermo(folder)
    t_k = np.array([500.0, 1500.0])
    cold = -7209.512 + 118.202013 * 500 - 23.8463314 * 500 * np.log(500) + 12011 / 500 + 11025.076 - 8.89102 * 500
    hot = -15095.252 + 190.266404 * 1500 + 11025.076 - 8.89102 * 1500
    expected = [[cold, hot], [100 * 500**2, 100 * 1500**2], [2500, 4500]]
    assert tables.at(t_k) == pytest.approx(np.array(expected), rel=1e-12)
    assert list(tables.breaks_k) == [600, 1234.93]


@pytest.mark.parametrize("file", list(SMALL))
def test_the_hash_follows_every_table_and_no_line_ending(folder, file):
    path, before = folder / file, thermo_hash(folder)
    raw = path.read_bytes()
    path.write_bytes(raw.replace(b"\n", b"\r\n"))
    assert thermo_hash(folder) == before
    path.write_bytes(raw + b"#")
    assert thermo_hash(folder) != before


FAULTS = [
    # file, old, new, words of the fault
    ("parameters.csv", "LIQUID,AG,G", "FLUID,AG,G", ("parameters.csv, row 2", "names no phase", "FLUID")),
    ("parameters.csv", '"AG,SN",L', '"AG,XX",L', ("parameters.csv, row 3", "does not fit", "AG,XX")),
    ("parameters.csv", '"AG,SN",L', '"AG:SN",L', ("parameters.csv, row 3", "does not fit", "AG:SN")),
    ("parameters.csv", '"AG,SN",L,0', '"AG,SN",Q,0', ("parameters.csv, row 3", "does not fit")),
    ("parameters.csv", '"AG,SN",L,0', '"AG,SN",L,x', ("parameters.csv, row 3", "does not fit")),
    ("parameters.csv", "+100*T**2", "+100*", ("parameters.csv, row 3", "cannot be read", "+100*")),
    ("parameters.csv", "+GLIQAG", "+GLIQXX", ("parameters.csv, row 2", "names no function", "GLIQXX")),
    ("parameters.csv", "AG,G,0,298.15,3000", "AG,G,0,298.15,900", ("LIQUID", "has no piece", "900 to 1700 K")),
    ("parameters.csv", "AG,G,0,298.15,3000", "AG,G,0,300,3000", ("LIQUID", "has no piece", "298.15 to 300 K")),
    ("parameters.csv", "AG,G,0,298.15,3000", "AG,G,0,3000,298", ("LIQUID", "has no piece", "298.15 to 1700 K")),
    ("parameters.csv", "0,600,3000", "0,700,3000", ("AG3SN", "has no piece", "600 to 700 K")),
    ("parameters.csv", "0,600,3000", "0,500,3000", ("AG3SN", "has two pieces", "500 to 600 K")),
    ("parameters.csv", "AG,G,0,298.15,3000", "AG,G,0,cold,3000", ("row 2, t_low_k", "is not a number", "cold")),
    ("parameters.csv", "AG,G,0,298.15,3000", "AG,G,0,298.15,inf", ("row 2, t_high_k", "is not a number", "inf")),
    ("parameters.csv", "+100*T**2", "+5/T", ("parameters.csv, row 3", "something else than sums", "5 / T")),
    ("parameters.csv", "+100*T**2", "+EXP(T)", ("parameters.csv, row 3", "names no function", "EXP")),
    ("parameters.csv", "+100*T**2", "+LN(2)", ("parameters.csv, row 3", "something else than sums", "LN(2)")),
    ("parameters.csv", "+100*T**2", "+T**0.5", ("row 3", "something else than sums", "T ** 0.5")),
    ("parameters.csv", "+100*T**2", "+T**T", ("row 3", "something else than sums", "T ** T")),
    ("parameters.csv", "+100*T**2", "+T*True", ("row 3", "something else than sums", "True")),
    ("functions.csv", "298.15,1234.93,", "298.15,1200,", ("GHSERAG", "has no piece", "1200 to 1234.93 K")),
    ("functions.csv", "1234.93,3000,", "1200,3000,", ("GHSERAG", "has two pieces", "1200 to 1234.93 K")),
    ("functions.csv", "1234.93,3000,", "hot,3000,", ("functions.csv, row 3, t_low_k", "is not a number", "hot")),
    ("functions.csv", "-7209.512", "-7209.512*(", ("functions.csv, row 2", "cannot be read")),
    ("functions.csv", "-15095.252", "GHSERAG", ("functions.csv, row 3", "names no function", "GHSERAG")),
    ("functions.csv", "-7209.512", "GLIQAG", ("functions.csv, row 2", "names no function", "GLIQAG")),
    ("phases.csv", '"AG,SN"', '"AG,XE"', ("phases.csv, row 2", "does not fit", "AG,XE")),
    ("phases.csv", "0.75:0.25", "0.75", ("phases.csv, row 3", "does not fit", "one site ratio")),
    ("phases.csv", "0.75:0.25", "0.75:some", ("phases.csv, row 3, site_ratios", "not a number", "some")),
]


@pytest.mark.parametrize(("file", "old", "new", "told"), FAULTS)
def test_every_fault_is_said_in_words(folder, file, old, new, told):
    with pytest.raises(InputError, match="thermodynamic tables") as raised:
        read_thermo(edited(folder, file, old, new))
    for word in told:
        assert word in str(raised.value)


def test_all_faults_are_told_at_once(folder):
    edited(folder, "parameters.csv", "LIQUID,AG,G", "FLUID,AG,G")
    edited(folder, "parameters.csv", "+3000+T", "+3000+")
    edited(folder, "functions.csv", "1234.93,3000", "1234.93,1500")
    with pytest.raises(InputError) as raised:
        read_thermo(folder)
    told = [fault.where for fault in raised.value.faults]
    assert told[:2] == ["parameters.csv, row 2", "parameters.csv, row 5"]
    assert told[2].startswith("functions.csv, GHSERAG")


def test_the_range_of_temperature_is_the_one_that_is_told():
    assert (T_LOW_K, T_HIGH_K) == (298.15, 1700.0)
    assert np.isfinite(thermo().at(np.array([T_LOW_K, T_HIGH_K]))).all()


def test_the_grades_of_systems_are_read_from_a_folder(folder):
    assert systems_table(folder) == {"elements": {"covered": []}}
    assert systems_table(thermo_folder())["elements"] == {"covered": list(ELEMENTS)}
