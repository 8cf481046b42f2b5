"""The kinds of field that a brief is made of: each says what it takes, and refuses the rest in words.

Nothing is coerced: text is not taken for a number, `true` not for 1, and NaN and infinity are refused.
"""

import math
from datetime import date
from functools import partial
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict
from pydantic_core import PydanticCustomError

from selector import composition
from selector.errors import InputError

SCHEMA_VERSION = 1
HUGE = 1e300  # NaN, infinity and integers that no float holds lie outside
LEAD_FINISH = "tin-lead"
LEAD_FREE_FINISH = "matte tin"
UNKNOWN: Literal["unknown"] = "unknown"

Unknown = Literal["unknown"]
Market = Literal["EU", "UK", "US", "China", "Japan", "Korea", "Taiwan", "India", "Eurasian Union", "California"]
DateKind = Literal["placed on market", "manufactured", "imported"]
Equipment = Literal[
    "household appliance",
    "information and telecommunication",
    "consumer",
    "lighting",
    "tool",
    "toy or sports",
    "medical device",
    "monitoring and control",
    "vending machine",
    "other electrical",
    "vehicle",
    "space",
    "military",
    "active implant",
    "unknown",
]
RatingPlace = Literal["body", "joint", "oven", "unknown"]
Finish = Literal[
    "matte tin",
    "tin-lead",
    "tin-bismuth",
    "tin-silver-copper",
    "nickel-gold",
    "nickel-palladium-gold",
    "silver",
    "copper",
    "unknown",
]
Heating = Literal["whole-board reflow", "local heat", "hand"]
Form = Literal["paste", "wire", "preform", "bar", "unknown"]
Route = Literal["reflow", "mixed powder", "transient liquid phase", "undercooled powder"]
Flux = Literal["no-clean", "no-clean with halide", "water-soluble", "rosin", "unknown"]
Cleaning = Literal["none", "unproved", "proved", "unknown"]
Underfill = Literal["none", "cures at 120 or below", "cures at 150 or above", "unknown"]
Coating = Literal["none", "conformal", "parylene", "unknown"]
BaseMetal = Literal["copper", "nickel", "aluminium", "unknown"]
PadFinish = Literal[
    "matte tin", "tin-lead", "tin-bismuth", "nickel-gold", "nickel-palladium-gold", "silver", "copper", "unknown"
]


class Room(BaseModel):
    """A table of fields that coerces nothing, takes no field it does not know, and cannot be changed in place."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


def _whole(value: object) -> object:
    if type(value) is not int:  # 1.0 and true equal 1, and are no version
        raise PydanticCustomError("version", "is not a schema version", {"allowed": str(SCHEMA_VERSION)})
    return value


def _number(
    value: object, low: float, high: float, unit: str, whole: bool = False, may_be_unknown: bool = True
) -> object:
    allowed = f"{low:g} to {high:g}{f' {unit}' if unit else ''}{', whole' if whole else ''}"
    allowed += ', or "unknown"' if may_be_unknown else ""
    if may_be_unknown and value == UNKNOWN:
        return value
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise PydanticCustomError("number", "is not a number", {"allowed": allowed})
    if isinstance(value, float) and not math.isfinite(value):
        raise PydanticCustomError("number", "is not a finite number", {"allowed": allowed})
    if not low <= value <= high:
        raise PydanticCustomError("number", "lies outside the range", {"allowed": allowed})
    if whole and value != int(value):
        raise PydanticCustomError("number", "is not a whole number", {"allowed": allowed})
    return int(value) if whole else float(value)


def _flag(value: object) -> object:
    if isinstance(value, bool) or value == UNKNOWN:
        return value
    raise PydanticCustomError("flag", "is not true or false", {"allowed": 'true, false or "unknown"'})


def _text(value: object, longest: int) -> object:
    allowed = f"text of 1 to {longest} characters"
    if not isinstance(value, str):
        raise PydanticCustomError("text", "is not text", {"allowed": allowed})
    if not value.strip() or len(value) > longest or not value.isprintable():
        raise PydanticCustomError("text", "is empty, too long or not printable", {"allowed": allowed})
    return value


def _element(value: object) -> object:
    if not isinstance(value, str) or value not in composition.atomic_masses():
        raise PydanticCustomError("element", "is not an element in the table", {"allowed": "a symbol such as Sb"})
    return value


def _ball(value: object) -> object:
    if value in (UNKNOWN, "none"):
        return value
    try:
        composition.parse(str(_text(value, 80)))
    except InputError as error:
        raise PydanticCustomError(
            "ball", "is not a composition", {"allowed": 'such as SAC305, or "none" or "unknown"'}
        ) from error
    return value


def _has_valley(worths: list[float]) -> bool:
    steps = [second - first for first, second in pairwise(worths) if second != first]
    return any(first < 0 < second for first, second in pairwise(steps))


def _points(value: object) -> object:
    allowed = "2 to 5 pairs [level, worth], levels rising, worth 0 to 100, at least one 0 and one 100, at most one peak"
    problem = ""
    if not isinstance(value, list | tuple) or not 2 <= len(value) <= 5:
        problem = "is not a list of 2 to 5 pairs"
    elif not all(isinstance(pair, list | tuple) and len(pair) == 2 for pair in value):
        problem = "holds something other than pairs"
    else:
        flat = [number for pair in value for number in pair]
        if any(isinstance(n, bool) or not isinstance(n, int | float) or not abs(n) <= HUGE for n in flat):
            problem = "holds something other than finite numbers"
        elif any(second[0] <= first[0] for first, second in pairwise(value)):
            problem = "levels do not rise"
        elif any(not 0 <= pair[1] <= 100 for pair in value) or {0, 100} - {pair[1] for pair in value}:
            problem = "worths do not span 0 to 100"
        elif _has_valley([pair[1] for pair in value]):
            problem = "worths fall and rise again"
    if problem:
        raise PydanticCustomError("points", problem, {"allowed": allowed})
    assert isinstance(value, list | tuple)
    return tuple((float(level), float(worth)) for level, worth in value)


def _points_or_none(value: object) -> object:
    return () if value in ((), []) else _points(value)


def _day(value: object) -> object:
    if value == UNKNOWN or type(value) is date:  # a datetime is a date too, with an hour that nobody meant
        return value
    raise PydanticCustomError("day", "is not a date", {"allowed": "a date such as 2027-09-01, without quotes"})


def _yes(value: object) -> object:
    if isinstance(value, bool):
        return value
    raise PydanticCustomError("flag", "is not true or false", {"allowed": "true or false"})


def _tuple(value: object) -> object:
    if not isinstance(value, list | tuple):
        raise PydanticCustomError("list", "is not a list", {"allowed": "a list"})
    return tuple(value)


def _tuple_or_unknown(value: object) -> object:
    return value if value == UNKNOWN else _tuple(value)


TemperatureC = Annotated[float | Unknown, BeforeValidator(partial(_number, low=-200, high=600, unit="degC"))]
SpanK = Annotated[float | Unknown, BeforeValidator(partial(_number, low=0, high=300, unit="K"))]
PerDay = Annotated[float | Unknown, BeforeValidator(partial(_number, low=0, high=100_000, unit="a day"))]
Millimetres = Annotated[float | Unknown, BeforeValidator(partial(_number, low=0.01, high=200, unit="mm"))]
Volume = Annotated[float | Unknown, BeforeValidator(partial(_number, low=0.001, high=1e6, unit="mm3"))]
Ppm = Annotated[float, BeforeValidator(partial(_number, low=0, high=1_000_000, unit="ppm", may_be_unknown=False))]
Class = Annotated[int | Unknown, BeforeValidator(partial(_number, low=1, high=3, unit="", whole=True))]
Powder = Annotated[int | Unknown, BeforeValidator(partial(_number, low=1, high=8, unit="", whole=True))]
Swing = Annotated[float, BeforeValidator(partial(_number, low=0, high=100, unit="points", may_be_unknown=False))]
Flag = Annotated[bool | Unknown, BeforeValidator(_flag)]
Name = Annotated[str, BeforeValidator(partial(_text, longest=80))]
Sentence = Annotated[str, BeforeValidator(partial(_text, longest=400))]
Element = Annotated[str, BeforeValidator(_element)]
Ball = Annotated[str, BeforeValidator(_ball)]
Points = Annotated[tuple[tuple[float, float], ...], BeforeValidator(_points)]
PointsOrNone = Annotated[tuple[tuple[float, float], ...], BeforeValidator(_points_or_none)]
Day = Annotated[date | Unknown, BeforeValidator(_day)]
Yes = Annotated[bool, BeforeValidator(_yes)]
PlusMinusK = Annotated[float | Unknown, BeforeValidator(partial(_number, low=0, high=100, unit="K"))]

BallWidth = Annotated[float | Unknown, BeforeValidator(partial(_number, low=0.01, high=3, unit="mm"))]
PadWidth = Annotated[float | Unknown, BeforeValidator(partial(_number, low=0.01, high=50, unit="mm"))]
OpeningMm = Annotated[float | Unknown, BeforeValidator(partial(_number, low=0.02, high=50, unit="mm"))]
OpeningUm = Annotated[float | Unknown, BeforeValidator(partial(_number, low=20, high=5000, unit="um"))]
Foil = Annotated[float | Unknown, BeforeValidator(partial(_number, low=10, high=1000, unit="um"))]
Transfer = Annotated[float | Unknown, BeforeValidator(partial(_number, low=0.01, high=1.3, unit=""))]
Width = Annotated[float | Unknown, BeforeValidator(partial(_number, low=1, high=5000, unit="um"))]
Share = Annotated[float | Unknown, BeforeValidator(partial(_number, low=0, high=1, unit=""))]
WtPercent = Annotated[float | Unknown, BeforeValidator(partial(_number, low=50, high=100, unit="wt%"))]
Years = Annotated[float | Unknown, BeforeValidator(partial(_number, low=0, high=100, unit="years"))]
Minutes = Annotated[float | Unknown, BeforeValidator(partial(_number, low=0.01, high=100_000, unit="min"))]
Expansion = Annotated[float | Unknown, BeforeValidator(partial(_number, low=-20, high=500, unit="ppm/K"))]
Amperes = Annotated[float | Unknown, BeforeValidator(partial(_number, low=0, high=1000, unit="A"))]
GridFactor = Annotated[float | Unknown, BeforeValidator(partial(_number, low=0, high=2, unit="kg/kWh"))]
PerHour = Annotated[float | Unknown, BeforeValidator(partial(_number, low=0.01, high=10_000, unit="an hour"))]
WholeNumber = Annotated[int | Unknown, BeforeValidator(partial(_number, low=1, high=1_000_000, unit="", whole=True))]
Price = Annotated[float, BeforeValidator(partial(_number, low=0.001, high=1e6, unit="USD/kg", may_be_unknown=False))]
Names = Annotated[tuple[Name, ...], BeforeValidator(_tuple)]
NamesOrUnknown = Annotated[tuple[Name, ...] | Unknown, BeforeValidator(_tuple_or_unknown)]

Version = BeforeValidator(_whole)
Rows = BeforeValidator(_tuple)
