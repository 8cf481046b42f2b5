"""Faults between the fields of a brief; works on the raw tables, so that they show beside faults within fields."""

from typing import Any

from selector.errors import Fault, shown
from selector.fields import HUGE, UNKNOWN

NO_REWORK = "none"
MIN_A_DAY = 24 * 60
CURES = {"cures at 120 or below": (-200.0, 120.0), "cures at 150 or above": (150.0, 600.0)}
ONCE = (
    ("parts", "name"),
    ("bans", "element"),
    ("preferences", "criterion"),
    ("markets", "market"),
    ("steps", "name"),
)


def cross_faults(raw: dict[str, Any], what: str) -> list[Fault]:
    """Return the faults between fields of a brief's raw tables."""
    faults = [*_service(raw, what), *_repeated(raw, what)]
    faults += [*_openings(raw, what), *_steps(raw, what), *_cure(raw, what), *_dwell(raw, what)]
    return faults


def _plain(table: object, key: str) -> float | None:
    value = table.get(key) if isinstance(table, dict) else None
    return value if isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= HUGE else None


def _rows(raw: object, table: str) -> list[Any]:
    rows = raw.get(table) if isinstance(raw, dict) else None
    return list(rows) if isinstance(rows, list | tuple) else []


def _service(raw: dict[str, Any], what: str) -> list[Fault]:
    faults = []
    service = raw.get("service")
    low, high, span = (_plain(service, key) for key in ("minimum_c", "maximum_c", "cyclic_range_k"))
    if low is not None and high is not None and low > high:
        faults.append(
            Fault(
                f"{what}: service.minimum_c",
                "lies above service.maximum_c",
                f"{low:g}",
                f"at most {high:g} degC",
            )
        )
    elif low is not None and high is not None and span is not None and span > high - low:
        faults.append(
            Fault(
                f"{what}: service.cyclic_range_k",
                "is wider than service.minimum_c to service.maximum_c",
                f"{span:g}",
                f"at most {high - low:g} K",
            )
        )
    return faults


def _dwell(raw: dict[str, Any], what: str) -> list[Fault]:
    """Return the cycles whose two dwells the day has no room for."""
    dwell, cycles = _plain(raw.get("life"), "dwell_min"), _plain(raw.get("service"), "cycles_per_day")
    if dwell is None or cycles is None or 2 * dwell * cycles <= MIN_A_DAY:
        return []
    where = f"{what}: life.dwell_min"
    told = f"{cycles:g} cycles a day, each of two such dwells, are longer than a day"
    return [Fault(where, told, f"{dwell:g}", f"at most {MIN_A_DAY / (2 * cycles):g} min")]


def _repeated(raw: dict[str, Any], what: str) -> list[Fault]:
    faults = []
    lists = [(table, key, _rows(raw, table)) for table, key in ONCE]
    lists.append(("footprint.prices", "element", _rows(raw.get("footprint"), "prices")))
    for table, key, rows in lists:
        seen: dict[str, int] = {}
        for index, row in enumerate(rows):
            value = row.get(key) if isinstance(row, dict) else None
            if isinstance(value, str) and value in seen:
                faults.append(
                    Fault(
                        f"{what}: {table}[{index}].{key}",
                        f"repeats {table}[{seen[value]}].{key}",
                        shown(value),
                        "each once",
                    )
                )
            elif isinstance(value, str):
                seen[value] = index
    return faults


def _openings(raw: dict[str, Any], what: str) -> list[Fault]:
    """Return the openings, pads and balls that the pitch leaves no room for."""
    faults = []
    for index, row in enumerate(_rows(raw, "parts")):
        pitch = _plain(row, "pitch_mm")
        for key in ("aperture_mm", "ball_diameter_mm", "pad_diameter_mm"):
            width = _plain(row, key)
            if pitch is not None and width is not None and width >= pitch:
                where = f"{what}: parts[{index}].{key}"
                faults.append(Fault(where, "is not below the pitch", f"{width:g}", f"below {pitch:g} mm"))
    pitches = [pitch for row in _rows(raw, "parts") if (pitch := _plain(row, "pitch_mm")) is not None]
    opening = _plain(raw.get("printing"), "aperture_um")
    if pitches and opening is not None and opening >= 1000 * min(pitches):
        where = f"{what}: printing.aperture_um"
        allowed = f"below {1000 * min(pitches):g} um"
        faults.append(Fault(where, "is not below the smallest pitch of the parts", f"{opening:g}", allowed))
    return faults


def _steps(raw: dict[str, Any], what: str) -> list[Fault]:
    """Return the steps that speak of a step that is not before them."""
    faults = []
    before: list[str] = []
    for index, row in enumerate(_rows(raw, "steps")):
        if not isinstance(row, dict):
            continue
        named = [("reworks", row.get("reworks", NO_REWORK))]
        named += [(key, name) for key in ("may_remelt", "meets") for name in _rows(row, key)]
        for key, name in named:
            if isinstance(name, str) and name not in (NO_REWORK, UNKNOWN, *before):
                where = f"{what}: steps[{index}].{key}"
                allowed = ", ".join(before) or "nothing: this is the first step"
                faults.append(Fault(where, "names no step before it", shown(name), allowed))
        if isinstance(row.get("name"), str):
            before.append(row["name"])
    return faults


def _cure(raw: dict[str, Any], what: str) -> list[Fault]:
    materials = raw.get("materials")
    cure = _plain(materials, "underfill_cure_c")
    kind = materials.get("underfill") if isinstance(materials, dict) else None
    if cure is None or not isinstance(kind, str):
        return []
    where = f"{what}: materials.underfill_cure_c"
    if kind == "none":
        return [Fault(where, "is given where there is no underfill", f"{cure:g}", "nothing", "leave it out")]
    low, high = CURES.get(kind, (cure, cure))
    if low <= cure <= high:
        return []
    return [Fault(where, "contradicts materials.underfill", f"{cure:g}", kind)]
