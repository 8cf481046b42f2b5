"""What the product demands: a strict, frozen model over TOML that round-trips without loss.

Any demand may be left `"unknown"`, which is also what a field left out means. Nothing is coerced: text is not
taken for a number, `true` not for 1, and NaN and infinity are refused. `read` reports every fault at once.
"""

from collections.abc import Sequence
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

from pydantic import ValidationError

from selector.brief_board import BOARD_TABLES, Footprint, Life, Materials, Mixing, Printing, Step
from selector.brief_checks import cross_faults
from selector.datafiles import data_folder, parse_toml, read_text
from selector.errors import Fault, InputError, shown
from selector.fields import (
    UNKNOWN,
    Ball,
    BallWidth,
    Class,
    DateKind,
    Day,
    Element,
    Equipment,
    Finish,
    Flag,
    Form,
    Heating,
    Market,
    Millimetres,
    Name,
    OpeningMm,
    PadWidth,
    PerDay,
    PlusMinusK,
    Points,
    PointsOrNone,
    Powder,
    Ppm,
    RatingPlace,
    Route,
    Rows,
    Sentence,
    SpanK,
    Swing,
    TemperatureC,
    Version,
    Volume,
    Yes,
)
from selector.fields import Room as _Room
from selector.verdict import Edit

LONGEST_STEP = 60


class Use(_Room):
    """Who uses the product and how; decides which law and which cautions apply."""

    equipment: Equipment = UNKNOWN
    worn: Flag = UNKNOWN
    skin_contact: Flag = UNKNOWN
    sweat_or_chloride: Flag = UNKNOWN
    sealed: Flag = UNKNOWN
    sold_to_public: Flag = UNKNOWN
    medical: Flag = UNKNOWN
    automotive: Flag = UNKNOWN


class MarketDate(_Room):
    """One market, with the day that its law goes by."""

    market: Market
    date: date
    date_kind: DateKind = "placed on market"


class Service(_Room):
    """What the joints see in service, degC, K and a day."""

    minimum_c: TemperatureC = UNKNOWN
    maximum_c: TemperatureC = UNKNOWN
    cyclic_range_k: SpanK = UNKNOWN
    cycles_per_day: PerDay = UNKNOWN
    shock: Flag = UNKNOWN


class Part(_Room):
    """One part of the board with what it tolerates and what its terminals bring into the joint.

    A rating known only to some kelvin says so in `rating_plus_minus_k`; without it, the rating is a promise and exact.
    """

    name: Name
    kind: Name = UNKNOWN
    rating_c: TemperatureC = UNKNOWN
    rating_plus_minus_k: PlusMinusK = UNKNOWN
    rating_at: RatingPlace = UNKNOWN
    thickness_mm: Millimetres = UNKNOWN
    volume_mm3: Volume = UNKNOWN
    pitch_mm: Millimetres = UNKNOWN
    ball_diameter_mm: BallWidth = UNKNOWN
    pad_diameter_mm: PadWidth = UNKNOWN
    aperture_mm: OpeningMm = UNKNOWN
    ball_alloy: Ball = UNKNOWN
    finish: Finish = UNKNOWN
    lead_bearing: Flag = UNKNOWN


class Board(_Room):
    """Laminate or film, and the adhesive that holds it."""

    base: Name = UNKNOWN
    base_limit_c: TemperatureC = UNKNOWN
    base_limit_plus_minus_k: PlusMinusK = UNKNOWN
    adhesive: Name = UNKNOWN
    adhesive_limit_c: TemperatureC = UNKNOWN
    adhesive_limit_plus_minus_k: PlusMinusK = UNKNOWN


class Process(_Room):
    """How the joints are made."""

    superheat_k: SpanK = UNKNOWN
    board_spread_k: SpanK = UNKNOWN
    oven_above_joint_k: SpanK = UNKNOWN
    heating: Heating = "whole-board reflow"
    form: Form = UNKNOWN
    powder_type: Powder = UNKNOWN
    routes: Annotated[tuple[Route, ...], Rows] = ("reflow",)


class Ban(_Room):
    """An element that a customer bans above a content, with the reason."""

    element: Element
    limit_ppm: Ppm
    reason: Sentence


class Preference(_Room):
    """Anchors and weight of one criterion in one pair, with who set them, when and why.

    `draft`: the anchors were taken from the list and nobody has stood up for them yet. `swing_for`: the anchors that
    the swing points were given for, where they have moved since; the weight is then stale. `limit_reason`: why a
    quantity that a hard limit already judges is preferred as well. `order_only`: levels are ordered and not placed;
    only the worst and best level of `points` count.
    """

    criterion: Name
    points: Points
    swing: Swing
    reason: Sentence
    author: Name
    set_on: Day = UNKNOWN
    draft: Yes = False
    swing_for: PointsOrNone = ()
    limit_reason: Sentence = UNKNOWN
    order_only: Yes = False


class Override(_Room):
    """A rule of practice set aside by name, for a reason that goes into the record."""

    rule: Literal["class_and_cycling"]
    alloy: Name
    reason: Sentence
    author: Name


class Brief(_Room):
    """Everything that the product demands of its solder."""

    schema_version: Annotated[Literal[1], Version] = 1
    title: Name
    ipc_class: Class = UNKNOWN
    incumbent: Name = UNKNOWN
    use: Use = Use()
    service: Service = Service()
    board: Board = Board()
    process: Process = Process()
    printing: Printing = Printing()
    mixing: Mixing = Mixing()
    life: Life = Life()
    materials: Materials = Materials()
    footprint: Footprint = Footprint()
    steps: Annotated[tuple[Step, ...], Rows] = ()
    markets: Annotated[tuple[MarketDate, ...], Rows] = ()
    parts: Annotated[tuple[Part, ...], Rows] = ()
    bans: Annotated[tuple[Ban, ...], Rows] = ()
    preferences: Annotated[tuple[Preference, ...], Rows] = ()
    overrides: Annotated[tuple[Override, ...], Rows] = ()


def known(value: float | int | str) -> float | None:
    """Return a demand's number, or None where it is left unknown."""
    return None if isinstance(value, str) else float(value)


def path_text(place: Sequence[str | int]) -> str:
    """Return a field's place as people write it: `parts[2].rating_c`."""
    text = ""
    for step in place:
        name = step
        if isinstance(step, str):
            name = step[:LONGEST_STEP] if step.isprintable() else ascii(step[:LONGEST_STEP])
            name += "…" if len(step) > LONGEST_STEP else ""
        text += f"[{name}]" if isinstance(step, int) else f".{name}" if text else str(name)
    return text


def _fields_at(place: Sequence[str | int]) -> list[str]:
    """Return the names that may stand at a place of the brief."""
    model: Any = Brief
    for step in place:
        if isinstance(step, str):
            annotation = model.model_fields[step].annotation
            model = next(iter(get_args(annotation)), annotation)
    return list(model.model_fields)


def _fault(error: Any, what: str) -> Fault:
    place, value = tuple(error["loc"]), shown(error["input"])
    where = f"{what}: {path_text(place) or 'the whole brief'}"
    if error["type"] == "missing":
        return Fault(where, "is missing", remedy="add the field")
    if error["type"] == "extra_forbidden":
        names = _fields_at(place[:-1])
        near = get_close_matches(str(place[-1]), names, 1)
        return Fault(
            where,
            "is not a field of the brief",
            value,
            ", ".join(names),
            f"did you mean {near[0]}?" if near else "",
        )
    if error["type"] == "literal_error":
        return Fault(where, "is not one of the choices", value, str(error["ctx"]["expected"]))
    if error["type"] == "model_type":
        return Fault(where, "is not a table of fields", value, "a table")
    if error["type"] in ("date_type", "date_from_datetime_inexact"):
        return Fault(where, "is not a date", value, "a date such as 2027-09-01, without quotes")
    return Fault(where, error["msg"], value, str(error.get("ctx", {}).get("allowed", "")))


def from_raw(raw: dict[str, Any], what: str = "the brief") -> Brief:
    """Return the brief that plain tables describe.

    Raises
    ------
    InputError
        Every fault within and between fields, with field path, value and allowed range.
    """
    faults = cross_faults(raw, what)
    try:
        brief = Brief.model_validate(raw)
    except ValidationError as error:
        faults = [_fault(entry, what) for entry in error.errors(include_url=False)] + faults
    except RecursionError:
        faults = [Fault(what, "brackets are nested too deeply", allowed="a few levels")]
    if faults:
        raise InputError(what, faults)
    return brief


def loads(text: str, what: str = "the brief") -> Brief:
    """Return the brief in a TOML text; raises `InputError` as `from_raw` and `parse_toml` do."""
    return from_raw(parse_toml(text, what, what), what)


def read(path: Path | str) -> Brief:
    """Return the brief in a TOML file; raises `InputError` with every fault."""
    path = Path(path)
    return loads(read_text(path, path.name), path.name)


def dumps(brief: Brief) -> str:
    """Return the brief as TOML text that `loads` turns back into an equal brief."""
    import tomli_w

    raw = brief.model_dump(mode="python")
    silent = [name for name in BOARD_TABLES if not getattr(brief, name).says]
    return tomli_w.dumps({key: value for key, value in raw.items() if key not in silent})


def changed(brief: Brief, edits: Sequence[Edit]) -> Brief:
    """Return the brief with fields changed, checked like one that was read.

    Parameters
    ----------
    brief : Brief
    edits : sequence of Edit
        Applied in order.

    Raises
    ------
    InputError
        An edit's path leads nowhere, or the changed brief has faults.
    """
    raw: dict[str, Any] = brief.model_dump(mode="python")
    for edit in edits:
        try:
            _set(raw, edit)
        except (KeyError, IndexError, TypeError, ValueError):
            raise InputError(
                "the changed brief",
                [Fault(shown(edit.path), "leads to no field of this brief", allowed="such as parts[0].rating_c")],
            ) from None
    return from_raw(raw, "the changed brief")


def _set(raw: dict[str, Any], edit: Edit) -> None:
    steps: list[str | int] = []
    for field in edit.path.replace("]", "").split("."):
        name, *indices = field.split("[")
        steps += [name, *map(int, indices)]
    target: Any = raw
    for step in steps[:-1]:
        if isinstance(target[step], tuple):
            target[step] = list(target[step])
        target = target[step]
    target[steps[-1]] = edit.value


def shipped(name: str) -> Path:
    """Return the path of a brief that comes with the product.

    Raises
    ------
    InputError
        Not one of them; the fault lists those there are.
    """
    folder = data_folder() / "briefs"
    names = sorted(entry.stem for entry in folder.glob("*.toml"))
    if name not in names:
        raise InputError(
            "the name of the brief", [Fault("name", "is not a shipped brief", shown(name), ", ".join(names))]
        )
    return folder / f"{name}.toml"
