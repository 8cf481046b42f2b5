"""The published sets under `data/life/`, typed. Each names its source; sets are read side by side, never merged."""

from functools import cache
from typing import Literal

from pydantic import BaseModel, ConfigDict, model_validator

from selector.datafiles import data_folder, read_toml


class _Row(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)
    source: str


class _Set(_Row):
    """A published set: `origin` and `grade` as in the catalogue."""

    id: str
    family: str
    name: str
    origin: Literal["measured", "tabulated", "memory"]
    grade: Literal["high", "medium", "low"]
    note: str = ""


class LifeSet(_Set):
    """Constants of the median life: fatigue ductility, and the exponent c0 + c1 T + c2 ln(1 + t0/t)."""

    fatigue_ductility: float
    c0: float
    c1_per_c: float
    c2: float
    t0_min: float
    silver_from_wt: float | None = None
    silver_to_wt: float | None = None


class Normaliser(_Row):
    """Pressure that normalises the strain of a compliant lead."""

    id: str
    psi: float


class Factor(_Row):
    """Published range of the empirical factor on strain."""

    id: str
    low: float
    high: float


class Slope(_Row):
    """Weibull slope by kind of joint."""

    joint: str
    slope: float


class Without(_Row):
    """Why a family has no data."""

    family: str
    why: str


class FatigueData(BaseModel):
    """All of `fatigue.toml`."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    life: tuple[LifeSet, ...]
    normaliser: tuple[Normaliser, ...]
    factor: tuple[Factor, ...]
    weibull: tuple[Slope, ...]
    without: tuple[Without, ...]

    def without_for(self, family: str) -> Without:
        """Return why a family has no data; pure indium is an indium alloy here."""
        held = {entry.family: entry for entry in self.without}
        return held.get("indium" if "indium" in family else family, held["other"])


class CreepLaw(_Set):
    """A sinh law in steady tension; amplitude and breakdown stress may fall with temperature."""

    alloy: str
    melts_c: float
    a_per_s: float
    a_zero_k: float | None = None
    alpha_per_mpa: float | None = None
    stress: float | None = None
    stress_per_k: float | None = None
    stress_unit: Literal["MPa", "psi"] = "MPa"
    n: float
    q_over_r_k: float
    low_c: float | None = None
    high_c: float | None = None
    low_mpa: float | None = None
    high_mpa: float | None = None

    @model_validator(mode="after")
    def _has_one_breakdown(self) -> "CreepLaw":
        if (self.alpha_per_mpa is None) == (self.stress is None or self.stress_per_k is None):
            raise ValueError("give alpha_per_mpa, or stress with stress_per_k")
        return self


class Trend(_Row):
    """What was seen in print of a creep law: good for a trend, not for a rate."""

    alloy: str
    text: str
    q_low_kj_mol: float
    q_high_kj_mol: float


class CreepData(BaseModel):
    """All of `creep.toml`."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    law: tuple[CreepLaw, ...]
    trend: tuple[Trend, ...]
    without: tuple[Without, ...]


class AccelerationLaw(_Set):
    """Exponents and activation temperature of an acceleration factor."""

    n: float
    m: float
    activation_k: float
    second_term: Literal["frequency", "hot dwell"]


class Unread(_Row):
    """A published set whose constants were not recovered."""

    family: str
    name: str


class AccelerationData(BaseModel):
    """All of `acceleration.toml`."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    law: tuple[AccelerationLaw, ...]
    unread: tuple[Unread, ...]


class Condition(_Row):
    """A standard cycling test."""

    id: str
    low_c: float
    high_c: float
    origin: Literal["tabulated", "memory"]
    note: str = ""


class Goals(_Row):
    """Cycle goals of the standard."""

    cycles: tuple[int, ...]


class Profile(_Row):
    """Ramp and dwell of the standard."""

    ramp_at_most_k_min: float
    dwell_at_least_min: float


class ConditionData(BaseModel):
    """All of `conditions.toml`."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    condition: tuple[Condition, ...]
    goals: Goals
    profile: Profile


class Potential(_Row):
    """Standard potential against hydrogen."""

    element: str
    volt: float


class DropResult(_Row):
    """One published drop result, with what it was measured on."""

    text: str


class BlackData(_Row):
    """Exponent and activation energy of Black's equation, as ranges, and what was seen in print."""

    n_low: float
    n_high: float
    ev_low: float
    ev_high: float
    seen: str
    seen_source: str


class SurfaceData(BaseModel):
    """All of `surface.toml`."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    potential: tuple[Potential, ...]
    drop: tuple[DropResult, ...]
    electromigration: BlackData


@cache
def fatigue_data() -> FatigueData:
    """Return the constants of thermal fatigue."""
    return FatigueData.model_validate(read_toml(data_folder() / "life" / "fatigue.toml", "the fatigue sets"))


@cache
def creep_data() -> CreepData:
    """Return the creep laws."""
    return CreepData.model_validate(read_toml(data_folder() / "life" / "creep.toml", "the creep laws"))


@cache
def acceleration_data() -> AccelerationData:
    """Return the sets of the acceleration factor."""
    what = "the acceleration sets"
    return AccelerationData.model_validate(read_toml(data_folder() / "life" / "acceleration.toml", what))


@cache
def condition_data() -> ConditionData:
    """Return the standard cycling tests."""
    return ConditionData.model_validate(read_toml(data_folder() / "life" / "conditions.toml", "the test conditions"))


@cache
def surface_data() -> SurfaceData:
    """Return potentials, drop results and electromigration constants."""
    return SurfaceData.model_validate(read_toml(data_folder() / "life" / "surface.toml", "the surface data"))
