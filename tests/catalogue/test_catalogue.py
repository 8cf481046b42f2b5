"""The shipped catalogue: what is in it, and how any spelling finds it."""

import csv

import pytest

from selector.catalogue import CORE_PROPERTIES, FORMS, Alloy, load
from selector.catalogue.bands import SCALES
from selector.catalogue.derived import RESTRICTED
from selector.composition import decimal_text
from selector.datafiles import data_folder
from selector.errors import InputError

ALLOYS = tuple(load().alloys.values())
each_alloy = pytest.mark.parametrize("alloy", ALLOYS, ids=[alloy.id for alloy in ALLOYS])


def rows(name: str) -> list[dict[str, str]]:
    with (data_folder() / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_there_are_at_least_seventy_alloys():
    assert len(ALLOYS) >= 70
    assert [alloy.id for alloy in ALLOYS] == [row["alloy"] for row in rows("alloys")]


def test_the_default_list_holds_no_fusible_cadmium_or_gallium_grade():
    listed = load().listed()
    assert len(listed) >= 50
    for alloy in listed:
        assert "fusible" not in alloy.family
        assert not {"Cd", "Ga"} & set(alloy.composition.elements)
    hidden = [alloy for alloy in ALLOYS if not alloy.listed]
    assert len(hidden) + len(listed) == len(ALLOYS)
    assert {word for alloy in hidden for word in ("fusible", "cadmium", "gallium") if word in alloy.family} == {
        "fusible",
        "cadmium",
        "gallium",
    }


def spellings(alloy: Alloy) -> set[str]:
    """Return the ways in which the trade and the journals write one composition."""
    parts = [(element, decimal_text(wt)) for element, wt in alloy.composition.parts]
    (first, _), rest = parts[0], parts[1:]
    written = {
        "".join(element + wt for element, wt in parts),  # Sn96.5Ag3Cu0.5
        "-".join(wt + element for element, wt in parts),  # 96.5Sn-3Ag-0.5Cu
        "".join(wt + element for element, wt in parts),
        ";".join(f"{element}:{wt}" for element, wt in parts),  # Sn:96.5;Ag:3;Cu:0.5
        ", ".join(f"{element} = {wt} %" for element, wt in reversed(parts)),
        first + "".join(element + wt for element, wt in rest),  # SnAg3Cu0.5
        first + "".join(f"-{wt}{element}" for element, wt in rest),  # Sn-3Ag-0.5Cu
        *(alloy.composition.designation(element) for element in alloy.composition.elements),
    }
    if all("." not in wt for _, wt in parts):
        written.add(first + "".join(f"-{wt}.0{element}" for element, wt in rest))  # Sn-3.0Ag
    if len(parts) > 1:
        written.add("/".join(wt for _, wt in parts) + " " + "/".join(element for element, _ in parts))  # 63/37 Sn/Pb
    return written


@each_alloy
def test_every_alloy_is_found_by_every_spelling(alloy):
    find = load().find
    for text in spellings(alloy) | {alloy.id, str(alloy.composition), *alloy.names}:
        for variant in (text, f"  {text} ", text.replace("-", "–")):
            assert find(variant) is alloy, variant


@each_alloy
def test_every_alloy_is_found_by_its_names_in_any_case(alloy):
    find = load().find
    for text in (alloy.id, *alloy.names):
        for variant in (
            text.lower(),
            text.upper(),
            text.replace("-", " "),
            text.replace("-", "–"),
            text.replace(" ", "_"),
        ):
            assert find(variant) is alloy, variant


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Sn-3.0Ag-0.5Cu", "SAC305"),
        ("SnAg3.0Cu0.5", "SAC305"),
        ("Sn96.5Ag3Cu0.5", "SAC305"),
        ("96.5Sn-3Ag-0.5Cu", "SAC305"),
        ("Sn:96.5;Ag:3;Cu:0.5", "SAC305"),
        ("sac 305", "SAC305"),
        ("63/37 Sn/Pb", "Sn-37Pb"),
        ("Sn63Pb37", "Sn-37Pb"),
        ("Pb37Sn63", "Sn-37Pb"),
        ("Sn-58Bi", "Bi-42Sn"),
        ("Sn58Bi", "Bi-42Sn"),
        ("58Bi-42Sn", "Bi-42Sn"),
        ("SAC387", "Sn-3.8Ag-0.7Cu"),
        ("In-48Sn", "In-48Sn"),
        ("52In48Sn", "In-48Sn"),
        ("80Au20Sn", "Au-20Sn"),
        ("tin", "Sn"),
        ("EGaIn", "Ga-24.5In"),
    ],
)
def test_well_known_spellings_find_their_alloy(text, expected):
    assert load().find(text).id == expected


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("Sn-3.1Ag-0.5Cu", "SAC305"),
        ("Sn62Pb38", "Sn-37Pb"),
        ("Sn-57Bi", "Bi-42Sn"),
        ("SAC306", "SAC305"),
        ("Sn-37Pz", "Sn-37Pb"),
    ],
)
def test_what_is_not_there_is_answered_with_the_nearest(text, named):
    with pytest.raises(InputError) as caught:
        load().find(text)
    assert named in caught.value.faults[0].remedy


@pytest.mark.parametrize("text", ["", " ", "unobtainium", "x" * 10_000, "Sn-200Pb", "Sn63Pb38", "63/37/1", "🙂"])
def test_what_is_no_alloy_is_refused_in_words(text):
    with pytest.raises(InputError) as caught:
        load().find(text)
    assert len(str(caught.value)) < 2000


@each_alloy
def test_every_chosen_row_is_usable_and_among_its_candidates(alloy):
    known = load().sources
    for name, entry in alloy.evidence.items():
        assert entry.name == name
        assert all(row.alloy == alloy.id and row.name == name for row in entry.candidates)
        if entry.chosen is not None:
            assert entry.chosen.standing == "usable"
            assert entry.chosen in entry.candidates
            assert (entry.value, entry.source) == (entry.chosen.value, entry.chosen.source)
        if entry.interval is not None:
            assert entry.interval[0] <= entry.interval[1]
            assert entry.value is None or entry.interval[0] <= entry.value <= entry.interval[1]
            assert set(entry.source.split("; ")) <= set(known)


@each_alloy
def test_every_alloy_has_the_core_properties_the_derived_ones_the_bands_and_the_forms(alloy):
    assert set(CORE_PROPERTIES) | {"pasty_range_k", "relative_cost", "supply_risk_wt"} <= set(alloy.evidence)
    assert all(alloy.of(name).unit == unit for name, unit in CORE_PROPERTIES.items())
    assert set(alloy.bands) == set(SCALES)
    assert set(alloy.forms) == set(FORMS)
    for name in ("solidus_c", "liquidus_c", "pasty_range_k", "density_g_cm3", "relative_cost", "supply_risk_wt"):
        assert alloy.of(name).value is not None, name
    assert alloy.of("no such property").interval is None


@each_alloy
def test_the_solidus_lies_at_or_below_the_liquidus(alloy):
    solidus, liquidus = alloy.of("solidus_c").value, alloy.of("liquidus_c").value
    assert solidus is not None
    assert liquidus is not None
    assert solidus <= liquidus


def test_no_observation_is_lost():
    kept = [row.id for alloy in ALLOYS for entry in alloy.evidence.values() for row in entry.candidates]
    kept += [row.id for alloy in ALLOYS for row in alloy.notes]
    written = [row["observation"] for row in rows("observations")]
    assert len(kept) == len(written)
    assert sorted(kept) == sorted(written)


def test_every_figure_is_the_one_in_the_file():
    held = {row.id: row for alloy in ALLOYS for entry in alloy.evidence.values() for row in entry.candidates}
    for row in rows("observations"):
        if row["unit"] != "text":
            observation = held[row["observation"]]
            for name in ("value", "low", "high"):
                figure = getattr(observation, name)
                assert (figure is None) == (row[name] == "")
                assert figure is None or figure == float(row[name])


def test_every_row_set_aside_says_why():
    for row in rows("observations"):
        assert (row["standing"] == "usable") or row["standing_reason"]


def test_the_frame_has_a_row_for_every_alloy():
    frame = load().frame()
    assert list(frame["alloy"]) == [alloy.id for alloy in ALLOYS]
    by_id = frame.set_index("alloy")
    assert by_id.loc["SAC305", "relative_cost"] == 1.0
    assert by_id.loc["Sn-37Pb", "restricted_ppm"] == "Pb 370000"
    assert by_id.loc["SAC305", "restricted_ppm"] == ""
    for alloy in ALLOYS:
        for name in ("solidus_c", "liquidus_c", "density_g_cm3", "relative_cost"):
            assert by_id.loc[alloy.id, name] == alloy.of(name).value
        restricted = {element for element in RESTRICTED if element in alloy.composition.elements}
        assert {
            entry.split()[0] for entry in str(by_id.loc[alloy.id, "restricted_ppm"]).split("; ") if entry
        } == restricted


def test_the_catalogue_cannot_be_written_to():
    catalogue = load()
    for mapping in (catalogue.alloys, catalogue.sources, catalogue.elements, catalogue.alloys["SAC305"].evidence):
        with pytest.raises(TypeError):
            mapping["x"] = None  # type: ignore[index]


def test_the_hash_follows_the_data(tmp_path):
    for path in data_folder().glob("*.csv"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    first = load(tmp_path).hash
    other = tmp_path / "b"
    other.mkdir()
    for path in data_folder().glob("*.csv"):
        (other / path.name).write_bytes(path.read_bytes())
    (other / "observations.csv").write_bytes(
        (data_folder() / "observations.csv").read_bytes().replace(b"brinell_hb,8,", b"brinell_hb,9,", 1)
    )
    assert load(other).hash != first
