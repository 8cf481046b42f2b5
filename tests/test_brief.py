"""The brief: strict on the way in, every fault at once, and no loss on the way out."""

import math
import tomllib
from datetime import date, datetime
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from selector import brief as room
from selector import fields as kinds
from selector.brief import (
    UNKNOWN,
    Ban,
    Board,
    Brief,
    MarketDate,
    Override,
    Part,
    Preference,
    Process,
    Service,
    Use,
    changed,
    dumps,
    from_raw,
    known,
    loads,
    path_text,
    read,
    shipped,
)
from selector.brief_board import ElementPrice, Footprint, Life, Materials, Mixing, Printing, Step, StepLimit
from selector.composition import atomic_masses
from selector.errors import InputError
from selector.verdict import Edit

SHIPPED = ("motor-drive", "river-logger", "sensor-stack", "skin-patch")
PREFERENCE = {"criterion": "cost", "points": [[1.0, 100], [3, 0]], "swing": 50, "reason": "r", "author": "a"}


def faults_of(call, *arguments):
    with pytest.raises(InputError) as caught:
        call(*arguments)
    return caught.value.faults


def fault_at(path, **fields):
    """Return the one fault of a brief with these fields, which must stand at `path`."""
    (fault,) = faults_of(from_raw, {"title": "t", **fields})
    assert fault.where == f"the brief: {path}"
    return fault


def nested(path, value):
    """Return the fields of a brief that put `value` at `path` (`service.maximum_c`, `parts[0].rating_c`)."""
    needed = {
        "parts": {"name": "p"},
        "steps": {"name": "s"},
        "bans": {"element": "Sb", "limit_ppm": 1, "reason": "r"},
        "preferences": PREFERENCE,
    }
    needed |= {"markets": {"market": "EU", "date": date(2027, 9, 1)}}
    needed |= {"overrides": {"rule": "class_and_cycling", "alloy": "x", "reason": "r", "author": "a"}}
    if "." not in path:
        return {path: value}
    table, field = path.split(".")
    if table.endswith("[0]"):
        return {table[:-3]: [{**needed[table[:-3]], field: value}]}
    return {table: {field: value}}


# What ships


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_briefs_read_dump_and_read_back(name):
    brief = read(shipped(name))
    assert loads(dumps(brief)) == brief
    assert dumps(loads(dumps(brief))) == dumps(brief)
    assert brief.parts
    assert brief.markets


def test_a_brief_is_read_from_text_or_path():
    assert read(str(shipped("skin-patch"))) == read(shipped("skin-patch"))


@pytest.mark.parametrize(
    "name",
    ["", ".", "..", "skin", "SKIN-PATCH", "skin-patch.toml", "../briefs/skin-patch", "./skin-patch", "x/../skin-patch",
     "../rules/practice", "/etc/passwd", "skin-patch\0", "x" * 10_000],
)  # fmt: skip
def test_names_of_no_shipped_brief_are_refused(name):
    (fault,) = faults_of(shipped, name)
    assert fault.allowed == ", ".join(SHIPPED)
    assert len(str(fault)) < 250


def test_the_absolute_path_of_a_shipped_brief_is_no_name():
    assert "is not a shipped brief" in faults_of(shipped, str(shipped("skin-patch").with_suffix("")))[0].problem


def test_faults_name_the_file(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text("ipc_class = 9", encoding="utf-8")
    assert [fault.where for fault in faults_of(read, path)] == ["mine.toml: title", "mine.toml: ipc_class"]
    assert "does not exist" in faults_of(read, tmp_path / "other.toml")[0].problem
    path.write_text("title = ", encoding="utf-8")
    assert "mine.toml" in faults_of(read, path)[0].where


# Round trip

titles = st.text(
    st.characters(codec="utf-8", exclude_categories=("C", "Z"), include_characters=" "), min_size=1, max_size=80
)
names = titles.filter(lambda text: text.strip() and text.isprintable())
flags = st.sampled_from([True, False, UNKNOWN])


def demand(low, high):
    return st.one_of(st.just(UNKNOWN), st.floats(low, high), st.integers(math.ceil(low), math.floor(high)))


def choice(literal):
    return st.sampled_from(get_args(literal))


@st.composite
def services(draw):
    low, high = sorted(draw(st.tuples(st.floats(-200, 600), st.floats(-200, 600))))
    return Service(
        minimum_c=draw(st.sampled_from([UNKNOWN, low])),
        maximum_c=draw(st.sampled_from([UNKNOWN, high])),
        cyclic_range_k=draw(st.one_of(st.just(UNKNOWN), st.floats(0, min(300, abs(high - low))))),
        cycles_per_day=draw(demand(0, 100_000)),
        shock=draw(flags),
    )


@st.composite
def points(draw):
    levels = draw(st.lists(st.floats(-1e9, 1e9), min_size=2, max_size=5, unique=True))
    between = draw(st.lists(st.floats(0, 100), min_size=3, max_size=3))[: len(levels) - 2]
    cut, rises = draw(st.integers(0, len(between))), draw(st.booleans())
    worths = [*sorted(between[:cut]), 100, *sorted(between[cut:], reverse=True)]
    return list(zip(sorted(levels), [0, *worths] if rises else [*worths, 0], strict=True))


uses = st.builds(Use, equipment=choice(room.Equipment), **dict.fromkeys(set(Use.model_fields) - {"equipment"}, flags))
parts = st.builds(
    Part,
    name=names,
    kind=names,
    rating_c=demand(-200, 600),
    rating_plus_minus_k=demand(0, 100),
    rating_at=choice(room.RatingPlace),
    thickness_mm=demand(0.01, 200),
    volume_mm3=demand(0.001, 1e6),
    pitch_mm=demand(0.01, 200),
    ball_alloy=st.sampled_from([UNKNOWN, "none", "SAC305", "Sn63Pb37"]),
    finish=choice(room.Finish),
    lead_bearing=flags,
)
boards = st.builds(
    Board,
    base=names,
    base_limit_c=demand(-200, 600),
    base_limit_plus_minus_k=demand(0, 100),
    adhesive=names,
    adhesive_limit_c=demand(-200, 600),
    adhesive_limit_plus_minus_k=demand(0, 100),
)
processes = st.builds(
    Process,
    superheat_k=demand(0, 300),
    board_spread_k=demand(0, 300),
    oven_above_joint_k=demand(0, 300),
    heating=choice(room.Heating),
    form=choice(room.Form),
    powder_type=st.sampled_from([UNKNOWN, *range(1, 9)]),
    routes=st.lists(choice(room.Route), max_size=3),
)
markets = st.builds(MarketDate, market=choice(room.Market), date=st.dates(), date_kind=choice(room.DateKind))
bans = st.builds(Ban, element=st.sampled_from(sorted(atomic_masses())), limit_ppm=st.floats(0, 1e6), reason=names)
preferences = st.builds(
    Preference,
    criterion=names,
    points=points(),
    swing=st.floats(0, 100),
    reason=names,
    author=names,
    set_on=st.one_of(st.just(UNKNOWN), st.dates()),
    draft=st.booleans(),
    swing_for=st.one_of(st.just(()), points()),
    limit_reason=names,
    order_only=st.booleans(),
)
overrides = st.builds(Override, rule=st.just("class_and_cycling"), alloy=names, reason=names, author=names)
prints = st.builds(
    Printing,
    foil_um=demand(10, 1000),
    aperture_um=demand(20, 5000),
    fine_foil=flags,
    transfer_share=demand(0.01, 1.3),
    metal_wt=demand(50, 100),
    standoff_um=demand(1, 5000),
)
mixings = st.builds(Mixing, dissolved_share=demand(0, 1), rework_alloy=st.sampled_from([UNKNOWN, "none", "Sn42Bi58"]))
lives = st.builds(Life, environment=names, years=demand(0, 100), current_a=demand(0, 9))
materials = st.builds(
    Materials,
    flux_class=choice(kinds.Flux),
    cleaning=choice(kinds.Cleaning),
    coating=choice(kinds.Coating),
    humid=flags,
)
prices = st.builds(ElementPrice, element=st.sampled_from(["Sn", "Ag", "Bi"]), usd_kg=st.floats(0.001, 1e6))
footprints = st.builds(
    Footprint,
    grid_kg_kwh=demand(0, 2),
    joints=st.sampled_from([UNKNOWN, 1, 10**6]),
    prices_dated=names,
    prices=st.lists(prices, max_size=3, unique_by=lambda row: row.element),
)


@st.composite
def steps(draw):
    made = []
    for name in draw(st.lists(st.sampled_from(["die", "module", "board"]), max_size=3, unique=True)):
        before = st.lists(st.sampled_from(made), max_size=2).map(lambda rows: tuple(row.name for row in rows))
        limits = st.lists(st.builds(StepLimit, name=names, limit_c=demand(-200, 600)), max_size=2)
        fields = {"name": name, "limits": draw(limits), "allowed": draw(st.lists(names, max_size=2))}
        fields |= {"superheat_k": draw(demand(0, 300)), "spread_k": draw(demand(0, 300))}
        if made:
            fields |= {"may_remelt": draw(before), "meets": draw(st.one_of(st.just(UNKNOWN), before))}
            fields |= {"reworks": draw(st.sampled_from(["none", made[0].name]))}
        made.append(Step(**fields))
    return tuple(made)


on_boards = st.builds(
    Brief,
    title=st.just("t"),
    printing=prints,
    mixing=mixings,
    life=lives,
    materials=materials,
    footprint=footprints,
    steps=steps(),
)
briefs = st.builds(
    Brief,
    title=names,
    ipc_class=st.sampled_from([UNKNOWN, 1, 2, 3]),
    incumbent=names,
    use=uses,
    service=services(),
    board=boards,
    process=processes,
    markets=st.lists(markets, max_size=3, unique_by=lambda row: row.market),
    parts=st.lists(parts, max_size=3, unique_by=lambda row: row.name),
    bans=st.lists(bans, max_size=3, unique_by=lambda row: row.element),
    preferences=st.lists(preferences, max_size=2, unique_by=lambda row: row.criterion),
    overrides=st.lists(overrides, max_size=2),
)


@given(briefs)
def test_every_brief_round_trips_exactly(brief):
    text = dumps(brief)
    assert loads(text) == brief
    assert dumps(loads(text)) == text
    assert changed(brief, []) == brief


@given(briefs, st.data())
def test_a_field_left_out_is_an_unknown_field(brief, data):
    raw = tomllib.loads(dumps(brief))
    table = data.draw(st.sampled_from(["use", "service", "board", "process"]))
    field = data.draw(st.sampled_from(sorted(raw[table])))
    default = getattr(getattr(Brief(title="t"), table), field)
    del raw[table][field]
    assert getattr(getattr(from_raw(raw), table), field) == default
    if table != "process" or field not in ("heating", "form", "routes"):
        assert default == UNKNOWN


def test_an_empty_brief_knows_nothing_and_assumes_no_pass():
    brief = from_raw({"title": "t"})
    assert brief == Brief(title="t")
    assert (brief.ipc_class, brief.service.maximum_c, brief.use.sealed) == (UNKNOWN,) * 3
    assert (brief.parts, brief.bans, brief.markets) == ((), (), ())
    assert known(brief.service.maximum_c) is None


def test_known_returns_numbers():
    assert known(3) == 3.0
    assert known(-0.5) == -0.5
    assert known(UNKNOWN) is None


def test_a_brief_cannot_be_changed_in_place():
    brief = Brief(title="t")
    with pytest.raises(ValidationError):
        brief.title = "u"
    with pytest.raises(ValidationError):
        brief.use.worn = True


@settings(max_examples=25, deadline=None)
@given(on_boards)
def test_what_is_said_of_the_board_round_trips_exactly(brief):
    text = dumps(brief)
    assert loads(text) == brief
    assert dumps(loads(text)) == text
    assert changed(brief, []) == brief


def test_tables_of_the_board_that_say_nothing_are_left_out_of_a_file():
    assert "printing" not in dumps(Brief(title="t"))
    assert "[mixing]" in dumps(Brief(title="t", mixing=Mixing(dissolved_share=0.5)))
    assert not Brief(title="t").footprint.says
    assert Footprint(prices=[{"element": "Sn", "usd_kg": 30}]).usd_kg == {"Sn": 30}


@pytest.mark.parametrize(
    ("tables", "path", "words"),
    [
        ({"parts": [{"name": "p", "pitch_mm": 0.5, "aperture_mm": 0.5}]}, "parts[0].aperture_mm", "below the pitch"),
        ({"parts": [{"name": "p", "pitch_mm": 0.5, "ball_diameter_mm": 0.6}]}, "parts[0].ball_diameter_mm", "pitch"),
        (
            {"parts": [{"name": "p", "pitch_mm": 0.4}], "printing": {"aperture_um": 450}},
            "printing.aperture_um",
            "below the smallest pitch",
        ),
        ({"printing": {"standoff_um": -4}}, "printing.standoff_um", "outside the range"),
        ({"steps": [{"name": "a", "reworks": "b"}, {"name": "b"}]}, "steps[0].reworks", "names no step before it"),
        ({"steps": [{"name": "a"}, {"name": "b", "meets": ["a", "c"]}]}, "steps[1].meets", "names no step before it"),
        ({"steps": [{"name": "a", "may_remelt": ["a"]}]}, "steps[0].may_remelt", "names no step before it"),
        ({"steps": [{"name": "a", "limits": [{"name": "x", "limit_c": 900}]}]}, "steps[0].limits[0].limit_c", "range"),
        ({"steps": [{"name": "a", "allowed": "SAC305"}]}, "steps[0].allowed", "is not a list"),
        ({"steps": [{"name": "a", "meets": 3}]}, "steps[0].meets", "is not a list"),
        (
            {"materials": {"underfill": "none", "underfill_cure_c": 110}},
            "materials.underfill_cure_c",
            "where there is no underfill",
        ),
        (
            {"materials": {"underfill": "cures at 120 or below", "underfill_cure_c": 150}},
            "materials.underfill_cure_c",
            "contradicts materials.underfill",
        ),
        ({"footprint": {"prices": [{"element": "Sn", "usd_kg": 0}]}}, "footprint.prices[0].usd_kg", "range"),
        ({"footprint": {"prices": [{"element": "Xx", "usd_kg": 1}]}}, "footprint.prices[0].element", "element"),
        (
            {"footprint": {"prices": [{"element": "Sn", "usd_kg": 1}, {"element": "Sn", "usd_kg": 2}]}},
            "footprint.prices[1].element",
            "repeats footprint.prices[0].element",
        ),
    ],
)
def test_what_cannot_be_on_a_board_is_a_fault_that_names_the_field(tables, path, words):
    assert words in fault_at(path, **tables).problem


def test_a_cure_that_fits_its_underfill_is_taken():
    for kind, cure_c in (("cures at 120 or below", 120), ("cures at 150 or above", 150), (UNKNOWN, 135)):
        assert from_raw({"title": "t", "materials": {"underfill": kind, "underfill_cure_c": cure_c}})


# Strictness, field by field

NUMBERS = [
    # path, the allowed range as the fault names it
    ("service.minimum_c", '-200 to 600 degC, or "unknown"'),
    ("service.maximum_c", '-200 to 600 degC, or "unknown"'),
    ("service.cyclic_range_k", '0 to 300 K, or "unknown"'),
    ("service.cycles_per_day", '0 to 100000 a day, or "unknown"'),
    ("board.base_limit_c", '-200 to 600 degC, or "unknown"'),
    ("board.adhesive_limit_c", '-200 to 600 degC, or "unknown"'),
    ("process.superheat_k", '0 to 300 K, or "unknown"'),
    ("process.board_spread_k", '0 to 300 K, or "unknown"'),
    ("process.oven_above_joint_k", '0 to 300 K, or "unknown"'),
    ("process.powder_type", '1 to 8, whole, or "unknown"'),
    ("ipc_class", '1 to 3, whole, or "unknown"'),
    ("parts[0].rating_c", '-200 to 600 degC, or "unknown"'),
    ("parts[0].rating_plus_minus_k", '0 to 100 K, or "unknown"'),
    ("board.base_limit_plus_minus_k", '0 to 100 K, or "unknown"'),
    ("board.adhesive_limit_plus_minus_k", '0 to 100 K, or "unknown"'),
    ("parts[0].thickness_mm", '0.01 to 200 mm, or "unknown"'),
    ("parts[0].volume_mm3", '0.001 to 1e+06 mm3, or "unknown"'),
    ("parts[0].pitch_mm", '0.01 to 200 mm, or "unknown"'),
    ("parts[0].ball_diameter_mm", '0.01 to 3 mm, or "unknown"'),
    ("parts[0].pad_diameter_mm", '0.01 to 50 mm, or "unknown"'),
    ("parts[0].aperture_mm", '0.02 to 50 mm, or "unknown"'),
    ("printing.foil_um", '10 to 1000 um, or "unknown"'),
    ("printing.aperture_um", '20 to 5000 um, or "unknown"'),
    ("printing.transfer_share", '0.01 to 1.3, or "unknown"'),
    ("printing.metal_wt", '50 to 100 wt%, or "unknown"'),
    ("printing.standoff_um", '1 to 5000 um, or "unknown"'),
    ("mixing.dissolved_share", '0 to 1, or "unknown"'),
    ("life.years", '0 to 100 years, or "unknown"'),
    ("life.failed_share", '0 to 1, or "unknown"'),
    ("life.board_ppm_k", '-20 to 500 ppm/K, or "unknown"'),
    ("life.dwell_min", '0.01 to 100000 min, or "unknown"'),
    ("life.current_a", '0 to 1000 A, or "unknown"'),
    ("materials.underfill_cure_c", '-200 to 600 degC, or "unknown"'),
    ("footprint.grid_kg_kwh", '0 to 2 kg/kWh, or "unknown"'),
    ("footprint.boards_h", '0.01 to 10000 an hour, or "unknown"'),
    ("footprint.joints", '1 to 1e+06, whole, or "unknown"'),
    ("steps[0].superheat_k", '0 to 300 K, or "unknown"'),
    ("bans[0].limit_ppm", "0 to 1e+06 ppm"),
    ("preferences[0].swing", "0 to 100 points"),
]


@pytest.mark.parametrize(("path", "allowed"), NUMBERS)
@pytest.mark.parametrize("value", [True, False, "7", "", "Unknown", None, [7], {"a": 7}, date(2027, 9, 1)])
def test_what_is_no_number_is_not_taken_for_one(path, allowed, value):
    fault = fault_at(path, **nested(path, value))
    assert (fault.problem, fault.allowed) == ("is not a number", allowed)


@pytest.mark.parametrize(("path", "allowed"), NUMBERS)
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_nan_and_infinity_are_refused(path, allowed, value):
    fault = fault_at(path, **nested(path, value))
    assert (fault.problem, fault.allowed, fault.value) == ("is not a finite number", allowed, str(value))


@pytest.mark.parametrize(("path", "allowed"), NUMBERS)
@pytest.mark.parametrize("value", [-1e9, 1e9, 10**400, -(10**400)])
def test_out_of_range_names_the_range(path, allowed, value):
    fault = fault_at(path, **nested(path, value))
    assert (fault.problem, fault.allowed) == ("lies outside the range", allowed)


@pytest.mark.parametrize(("path", "allowed"), NUMBERS)
def test_the_ends_of_a_range_are_inside_and_the_next_number_is_not(path, allowed):
    low, high = (float(end) for end in (allowed.split()[0], allowed.split()[2].rstrip(",")))
    for end, outside in ((low, math.nextafter(low, -math.inf)), (high, math.nextafter(high, math.inf))):
        assert from_raw({"title": "t", **nested(path, end)})
        fault_at(path, **nested(path, outside))


@pytest.mark.parametrize("path", ["ipc_class", "process.powder_type"])
def test_whole_numbers_are_whole(path):
    assert fault_at(path, **nested(path, 2.5)).problem == "is not a whole number"


@pytest.mark.parametrize("path", ["bans[0].limit_ppm", "preferences[0].swing"])
def test_a_ban_and_a_weight_cannot_be_unknown(path):
    assert "unknown" not in fault_at(path, **nested(path, UNKNOWN)).allowed


@pytest.mark.parametrize("path", [f"use.{name}" for name in Use.model_fields if name != "equipment"] + [
    "service.shock", "parts[0].lead_bearing", "printing.fine_foil", "materials.humid", "materials.vacuum"])  # fmt: skip
@pytest.mark.parametrize("value", [1, 0, "true", "yes", "", None, 1.0])
def test_flags_are_true_false_or_unknown(path, value):
    fault = fault_at(path, **nested(path, value))
    assert (fault.problem, fault.allowed) == ("is not true or false", 'true, false or "unknown"')


TEXTS = [("title", 80), ("incumbent", 80), ("board.base", 80), ("parts[0].name", 80), ("parts[0].kind", 80),
         ("bans[0].reason", 400), ("preferences[0].criterion", 80), ("preferences[0].author", 80),
         ("overrides[0].alloy", 80), ("overrides[0].reason", 400), ("overrides[0].author", 80)]  # fmt: skip


@pytest.mark.parametrize(("path", "longest"), TEXTS)
def test_texts_are_printable_and_bounded(path, longest):
    assert from_raw({"title": "t", **nested(path, "x" * longest)})
    for value in ("", "   ", "x" * (longest + 1), "x" + " " * longest, "a\nb", "a\0b", "a\x1b[2Jb"):
        fault = fault_at(path, **nested(path, value))
        assert fault.allowed == f"text of 1 to {longest} characters"
        assert "empty, too long or not printable" in fault.problem
    for value in (7, True, None, ["x"]):
        assert fault_at(path, **nested(path, value)).problem == "is not text"


CHOICES = [
    ("use.equipment", room.Equipment),
    ("process.heating", room.Heating),
    ("process.form", room.Form),
    ("parts[0].finish", room.Finish),
    ("parts[0].rating_at", room.RatingPlace),
    ("markets[0].market", room.Market),
    ("markets[0].date_kind", room.DateKind),
    ("materials.flux_class", kinds.Flux),
    ("materials.cleaning", kinds.Cleaning),
    ("materials.underfill", kinds.Underfill),
    ("materials.coating", kinds.Coating),
    ("materials.pad_finish", kinds.PadFinish),
    ("materials.base_metal", kinds.BaseMetal),
]


@pytest.mark.parametrize(("path", "literal"), CHOICES)
@pytest.mark.parametrize("value", ["nonesuch", "", 7, True, ["EU"], None])
def test_a_wrong_choice_lists_the_choices(path, literal, value):
    fault = fault_at(path, **nested(path, value))
    assert fault.problem == "is not one of the choices"
    assert all(repr(option) in fault.allowed for option in get_args(literal))


def test_a_wrong_route_and_a_wrong_rule_list_the_choices():
    fault = fault_at("process.routes[1]", process={"routes": ["reflow", "glue"]})
    assert all(route in fault.allowed for route in get_args(room.Route))
    assert "class_and_cycling" in fault_at("overrides[0].rule", **nested("overrides[0].rule", "eu_rohs")).allowed


@pytest.mark.parametrize("value", ["2027-09-01", 20270901, datetime(2027, 9, 1), datetime(2027, 9, 1, 0, 0, 1), True])
def test_dates_are_dates(value):
    fault = fault_at("markets[0].date", **nested("markets[0].date", value))
    assert (fault.problem, "2027-09-01, without quotes" in fault.allowed) == ("is not a date", True)


@pytest.mark.parametrize("value", ["Xx", "tin", "SN", "", 7, True, None, ["Sb"]])
def test_unknown_element_of_a_ban(value):
    fault = fault_at("bans[0].element", **nested("bans[0].element", value))
    assert fault.problem == "is not an element in the table"


@pytest.mark.parametrize("value", ["SAC999", "Sn-3Xx", "63/37"])
def test_balls_must_be_a_composition(value):
    fault = fault_at("parts[0].ball_alloy", **nested("parts[0].ball_alloy", value))
    assert (fault.problem, "SAC305" in fault.allowed) == ("is not a composition", True)


@pytest.mark.parametrize("value", ["", "x" * 81, 7, True])
def test_balls_must_be_text(value):
    assert "text of 1 to 80" in fault_at("parts[0].ball_alloy", **nested("parts[0].ball_alloy", value)).allowed


@pytest.mark.parametrize("table", ["markets", "parts", "bans", "preferences", "overrides"])
@pytest.mark.parametrize("value", ["text", 7, True, {"name": "p"}, None])
def test_lists_are_lists(table, value):
    assert fault_at(table, **{table: value}).problem == "is not a list"


def test_routes_are_a_list():
    assert fault_at("process.routes", process={"routes": "reflow"}).problem == "is not a list"


@pytest.mark.parametrize("table", ["use", "service", "board", "process"])
@pytest.mark.parametrize("value", ["text", 7, True, [1], None])
def test_tables_are_tables(table, value):
    fault = fault_at(table, **{table: value})
    assert (fault.problem, fault.allowed) == ("is not a table of fields", "a table")


def test_rows_of_lists_are_tables():
    assert fault_at("parts[0]", parts=["text"]).problem == "is not a table of fields"


@pytest.mark.parametrize(
    ("value", "problem"),
    [
        ("text", "2 to 5 pairs"),
        ([[1, 0]], "2 to 5 pairs"),
        ([[n, 0] for n in range(6)], "2 to 5 pairs"),
        ([[1, 0], [2]], "other than pairs"),
        ([[1, 0], 2], "other than pairs"),
        ([[1, 0], ["2", 100]], "other than finite numbers"),
        ([[1, 0], [True, 100]], "other than finite numbers"),
        ([[1, 0], [math.nan, 100]], "other than finite numbers"),
        ([[1, 0], [math.inf, 100]], "other than finite numbers"),
        ([[1, 0], [10**400, 100]], "other than finite numbers"),
        ([[1, 0], [1, 100]], "levels do not rise"),
        ([[2, 0], [1, 100]], "levels do not rise"),
        ([[1, 0], [2, 101]], "span 0 to 100"),
        ([[1, -1], [2, 100]], "span 0 to 100"),
        ([[1, 0], [2, 99]], "span 0 to 100"),
        ([[1, 1], [2, 100]], "span 0 to 100"),
        ([[1, 100], [2, 0], [3, 50]], "fall and rise again"),
        ([[1, 0], [2, 100], [3, 50], [4, 50], [5, 60]], "fall and rise again"),
    ],
)
def test_points_of_a_preference(value, problem):
    assert problem in fault_at("preferences[0].points", **nested("preferences[0].points", value)).problem


def test_curves_with_one_peak_or_a_plateau_are_points():
    for worths in ((0, 100, 0), (0, 50, 100, 20), (100, 100, 0), (0, 0, 100, 100)):
        row = {**PREFERENCE, "points": [[float(at), worth] for at, worth in enumerate(worths)]}
        assert from_raw({"title": "t", "preferences": [row]})


def test_a_preference_written_before_there_were_dates_and_drafts_still_reads():
    (entry,) = from_raw({"title": "t", "preferences": [PREFERENCE]}).preferences
    assert (entry.set_on, entry.draft, entry.swing_for, entry.limit_reason, entry.order_only) == (
        UNKNOWN,
        False,
        (),
        UNKNOWN,
        False,
    )


@pytest.mark.parametrize(
    ("field", "value", "problem"),
    [
        ("set_on", "2027-09-01", "is not a date"),
        ("set_on", datetime(2027, 9, 1), "is not a date"),
        ("draft", "unknown", "is not true or false"),
        ("draft", 1, "is not true or false"),
        ("order_only", "yes", "is not true or false"),
        ("swing_for", [[1, 0]], "2 to 5 pairs"),
        ("limit_reason", "", "is empty"),
    ],
)
def test_what_else_a_preference_holds(field, value, problem):
    assert problem in fault_at(f"preferences[0].{field}", **nested(f"preferences[0].{field}", value)).problem


@pytest.mark.parametrize("value", [2, 0, "1", True, 1.0, UNKNOWN, None])
def test_schema_version_is_the_integer_1(value):
    assert fault_at("schema_version", schema_version=value).allowed == "1"


def test_missing_fields():
    (fault,) = faults_of(from_raw, {})
    assert (fault.where, fault.problem, fault.remedy) == ("the brief: title", "is missing", "add the field")
    faults = faults_of(from_raw, {"title": "t", "bans": [{}], "markets": [{"market": "EU"}], "parts": [{"kind": "k"}]})
    assert {fault.where.split(": ")[1] for fault in faults} == {
        "bans[0].element", "bans[0].limit_ppm", "bans[0].reason", "markets[0].date", "parts[0].name",
    }  # fmt: skip
    assert {fault.problem for fault in faults} == {"is missing"}


@pytest.mark.parametrize(
    ("fields", "path", "hint"),
    [
        ({"ipc_clas": 2}, "ipc_clas", "ipc_class"),
        ({"servise": {}}, "servise", "service"),
        ({"service": {"maximun_c": 60}}, "service.maximun_c", "maximum_c"),
        ({"parts": [{"name": "p", "ratingc": 60}]}, "parts[0].ratingc", "rating_c"),
        ({"bans": [{"element": "Sb", "limit_ppm": 1, "reason": "r", "limit": 1}]}, "bans[0].limit", "limit_ppm"),
        ({"process": {"superheat": 20}}, "process.superheat", "superheat_k"),
    ],
)
def test_an_unknown_field_gets_a_near_name(fields, path, hint):
    fault = fault_at(path, **fields)
    assert fault.problem == "is not a field of the brief"
    assert fault.remedy == f"did you mean {hint}?"
    assert hint in fault.allowed.split(", ")


def test_an_unknown_field_far_from_all_gets_no_hint():
    fault = fault_at("zzzz", zzzz=1)
    assert (fault.remedy, "title" in fault.allowed) == ("", True)


def test_a_long_unknown_field_cannot_flood_the_message():
    (fault,) = faults_of(from_raw, {"title": "t", "k" * 100_000: 1})
    assert len(str(fault)) < 500


# Faults between fields


def test_inverted_range():
    fault = fault_at("service.minimum_c", service={"minimum_c": 61, "maximum_c": 60})
    assert (fault.value, fault.allowed) == ("61", "at most 60 degC")
    assert from_raw({"title": "t", "service": {"minimum_c": 60, "maximum_c": 60}})


def test_cyclic_range_wider_than_service():
    service = {"minimum_c": -20, "maximum_c": 60, "cyclic_range_k": 80}
    assert from_raw({"title": "t", "service": service})
    fault = fault_at("service.cyclic_range_k", service={**service, "cyclic_range_k": 80.5})
    assert (fault.value, fault.allowed) == ("80.5", "at most 80 K")


@pytest.mark.parametrize("left_out", ["minimum_c", "maximum_c", "cyclic_range_k"])
def test_unknown_ends_are_not_judged_against_each_other(left_out):
    service = {"minimum_c": -20, "maximum_c": 60, "cyclic_range_k": 99, left_out: UNKNOWN}
    assert from_raw({"title": "t", "service": service})


@pytest.mark.parametrize(
    ("table", "rows", "key"),
    [
        ("parts", [{"name": "p"}, {"name": "q"}, {"name": "p"}], "name"),
        ("bans", [{"element": e, "limit_ppm": 1, "reason": "r"} for e in ("Sb", "Pb", "Sb")], "element"),
        ("preferences", [{**PREFERENCE, "criterion": c} for c in ("cost", "drop", "cost")], "criterion"),
        ("markets", [{"market": m, "date": date(2027, 9, 1)} for m in ("EU", "US", "EU")], "market"),
    ],
)
def test_duplicates_are_refused(table, rows, key):
    fault = fault_at(f"{table}[2].{key}", **{table: rows})
    assert (fault.problem, fault.allowed) == (f"repeats {table}[0].{key}", "each once")


SEEDED = """
schema_version = 1
ipc_class = true
incumbnt = "SAC305"
[use]
equipment = "toaster"
worn = "yes"
[service]
minimum_c = 90
maximum_c = 60
cyclic_range_k = nan
cycles_per_day = -3
[process]
superheat_k = "20"
[[parts]]
name = "cell"
rating_c = 700
[[parts]]
name = "cell"
[[bans]]
element = "Unobtainium"
limit_ppm = inf
reason = "r"
[[markets]]
market = "EU"
date = "2027-09-01"
"""


def test_every_fault_is_reported_at_once_with_path_and_value():
    faults = faults_of(loads, SEEDED, "mine.toml")
    assert {(fault.where.removeprefix("mine.toml: "), fault.value) for fault in faults} == {
        ("title", ""),
        ("ipc_class", "True"),
        ("incumbnt", "'SAC305'"),
        ("use.equipment", "'toaster'"),
        ("use.worn", "'yes'"),
        ("service.minimum_c", "90"),
        ("service.cyclic_range_k", "nan"),
        ("service.cycles_per_day", "-3"),
        ("process.superheat_k", "'20'"),
        ("parts[0].rating_c", "700"),
        ("parts[1].name", "'cell'"),
        ("bans[0].element", "'Unobtainium'"),
        ("bans[0].limit_ppm", "inf"),
        ("markets[0].date", "'2027-09-01'"),
    }
    assert len(faults) == 14
    assert all(fault.allowed or fault.remedy for fault in faults)


@pytest.mark.parametrize(
    "text",
    [
        "title = " + "[" * 100_000,
        "title = " + "[" * 300 + "]" * 300,
        'title = "t"\nipc_class = 0x' + "f" * 5000,
        'title = "t"\nipc_class = ' + "1" * 5000,
        'title = "t"\ntitle = "u"',
        "title = [0x" + "f" * 5000 + "]",
    ],
    ids=["open brackets", "brackets", "hexadecimal", "digits", "twice", "hexadecimal in a list"],
)
def test_hostile_toml_ends_in_an_input_error(text):
    assert faults_of(loads, text)


def test_a_recursion_inside_the_check_is_an_input_error(monkeypatch):
    def recurse(_):
        raise RecursionError

    monkeypatch.setattr(Brief, "model_validate", recurse)
    assert "nested too deeply" in faults_of(from_raw, {"title": "t"})[0].problem


anything = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=5), st.dates()),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.sampled_from(["name", "market", "element", "maximum_c", "points", "x"]), inner, max_size=3),
    ),
    max_leaves=8,
)


@given(st.dictionaries(st.sampled_from([*Brief.model_fields, "x"]), anything, max_size=6))
def test_any_tables_give_a_brief_or_an_input_error(raw):
    try:
        brief = from_raw(raw)
    except InputError as error:
        faults = error.faults
    else:
        assert loads(dumps(brief)) == brief
        return
    assert faults


# Edits


def test_path_text():
    assert path_text(("parts", 2, "rating_c")) == "parts[2].rating_c"
    assert path_text(("title",)) == "title"
    assert path_text(()) == ""


def test_edits_are_applied_in_order_and_leave_the_brief_alone():
    brief = read(shipped("skin-patch"))
    new = changed(
        brief,
        [
            Edit("parts[1].rating_c", 210, ""),
            Edit("parts[1].rating_c", 245.5, ""),
            Edit("service.maximum_c", 40, ""),
            Edit("ipc_class", 1, ""),
            Edit("process.routes", ["reflow", "mixed powder"], ""),
            Edit("bans[0].limit_ppm", 2000, ""),
        ],
    )
    assert (new.parts[1].rating_c, new.service.maximum_c, new.ipc_class) == (245.5, 40, 1)
    assert (new.process.routes, new.bans[0].limit_ppm) == (("reflow", "mixed powder"), 2000)
    assert (new.parts[0], new.parts[2], new.use) == (brief.parts[0], brief.parts[2], brief.use)
    assert brief == read(shipped("skin-patch"))


@pytest.mark.parametrize(
    ("path", "value", "named"),
    [
        ("parts[0].rating_c", True, "parts[0].rating_c"),
        ("parts[0].rating_c", 601, "parts[0].rating_c"),
        ("service.maximum_c", -50, "service.minimum_c"),
        ("parts[0].name", "microphone", "parts[1].name"),
        ("ipc_clas", 2, "did you mean ipc_class?"),
        ("parts[9].rating_c", 200, "parts[9].rating_c"),
        ("parts[x].rating_c", 200, "parts[x].rating_c"),
        ("nothing.at_all", 1, "nothing.at_all"),
        ("title.x", 1, "title.x"),
        ("", 1, "is not a field of the brief"),
    ],
)
def test_edits_are_checked_like_a_brief_that_was_read(path, value, named):
    faults = faults_of(changed, read(shipped("skin-patch")), [Edit(path, value, "")])
    assert named in "\n".join(map(str, faults))
