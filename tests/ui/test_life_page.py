"""The page Life, headless: grouped screens, what is stated, the material set, and what is refused."""

import pytest
from test_pages import drawn, opened, said, turned

from selector import link
from selector.brief import from_raw

DRIVE = {
    "title": "Drive",
    "ipc_class": 3,
    "incumbent": "SAC305",
    "use": {"equipment": "vehicle", "automotive": True, "skin_contact": False},
    "service": {"maximum_c": 125, "minimum_c": -40, "cyclic_range_k": 100, "cycles_per_day": 4},
}


def drive():
    return opened("life", c=link.pack(from_raw(DRIVE).model_dump(mode="python")))


def key(test, end):
    return next(each.key for kind in (test.text_input, test.selectbox) for each in kind if each.key.endswith(f":{end}"))


def state(test, **figures):
    for name, value in figures.items():
        test.text_input(key=key(test, name)).set_value(value)
    test.run()
    assert not test.exception
    return test


def pick(test, name, value):
    test.selectbox(key=key(test, name)).set_value(value).run()
    assert not test.exception
    return test


def answers(test):
    rows = {}
    for table in test.table:
        for name, row in table.value.iterrows():
            rows.setdefault(str(name).replace("\\", ""), []).append(
                {k: str(v).replace("\\", "") for k, v in row.items()}
            )
    return rows


@pytest.fixture(scope="module")
def page():
    return drive()


def test_it_opens_on_the_leader_with_its_heat_and_says_once_what_has_to_be_said(page):
    leader = page.selectbox(key=key(page, "alloy")).value
    assert f"{leader}: remelt onset" in said(page)
    assert sum("It has qualified no joint" in text for text in drawn(page)) == 1
    assert "Candidates to qualify, never approved ones" in said(page)
    assert "questions about safety are open" in said(page)
    (heat,) = answers(page)["homologous temperature"]
    assert heat["law"].startswith("Th with the lowest onset")


def test_every_row_has_its_standing_law_and_sources_stand_below(page):
    assert all(row["standing"] and row["law"] for rows in answers(page).values() for row in rows)
    assert said(page).count("Sources: ") >= 6


def test_fatigue_is_asked_for_and_answered_by_every_set_once_stated():
    test = drive()
    pick(test, "alloy", "SAC305")
    assert "Not asked further: state half-cycle dwell, min" in said(test)
    figures = {"distance_mm": "5", "height_um": "200", "board_ppm": "17", "part_ppm": "7"}
    state(test, dwell_min="15", years="10", swing_k="60", **figures)
    found = answers(test)
    # 5 mm (17 - 7) ppm/K 60 K / 0.2 mm
    assert found["cyclic shear strain"][0]["answer"] == "1.5 %"
    assert "(" in found["median life"][0]["answer"]
    assert found["failed over life"][0]["law"].startswith("Weibull slope 4")
    assert len(found["creep strength"]) == 4
    turned(test, "steps")
    turned(test, "life")
    assert test.text_input(key=key(test, "distance_mm")).value == "5"


def test_what_is_refused_is_named_and_the_rest_is_answered():
    test = drive()
    pick(test, "alloy", "SAC305")
    state(test, service_max_c="230", years="ten")
    assert "Refused: service maximum" in said(test)
    assert "life, years: ten is no number" in said(test)
    assert "couple of metals" in answers(test)


def test_an_emptied_field_is_not_stated_whatever_the_brief_says():
    test = drive()
    state(test, service_max_c="")
    assert "Not asked further: state service maximum, degC." in said(test)


@pytest.mark.parametrize(
    ("flux", "standoff", "cleaning", "pair", "standing"),
    [
        ("no-clean", "low", "none", "flux no-clean with standoff low", "? needs a test"),
        ("no-clean", "high", "none", "flux no-clean with standoff high", "✓ compatible"),
        ("water-soluble", "high", "none", "flux water-soluble with cleaning none", "✗ known bad"),
    ],
)
def test_the_material_set_is_checked_pair_by_pair(page, flux, standoff, cleaning, pair, standing):
    for name, value in (("flux", flux), ("standoff", standoff), ("cleaning", cleaning)):
        pick(page, f"set:{name}", value)
    found = answers(page)
    assert found[f"material set, {pair}"][0]["standing"] == standing
    if standing == "? needs a test":
        assert "IPC-TM-650 2.6.3.7" in said(page)
    assert any(row["standing"] == "? not stated" for rows in found.values() for row in rows)


def test_gold_of_the_chosen_finish_counts_from_its_thinnest_to_its_thickest():
    test = drive()
    pick(test, "alloy", "SAC305")
    pick(test, "set:finish", "nickel-gold")
    assert "Not asked further: state height of the print, um." in said(test)
    state(test, print_um="100")
    (gold,) = answers(test)["gold in the joint"]
    assert " to " in gold["answer"]
    assert gold["standing"] == "✓ holds"
