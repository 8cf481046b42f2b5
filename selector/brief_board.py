"""What a brief may say of the joint on its board: printing, mixing, steps, life, materials and footprint.

All of it is optional. What a table leaves out is not judged; once a table says something, what its rules need besides
is unknown, which is never a pass.
"""

from typing import Annotated

from selector.fields import (
    UNKNOWN,
    Amperes,
    Ball,
    BaseMetal,
    Cleaning,
    Coating,
    Element,
    Expansion,
    Flag,
    Flux,
    Foil,
    GridFactor,
    Millimetres,
    Minutes,
    Name,
    Names,
    NamesOrUnknown,
    OpeningUm,
    PadFinish,
    PerHour,
    Price,
    Room,
    Rows,
    Share,
    SpanK,
    TemperatureC,
    Transfer,
    Underfill,
    Volume,
    WholeNumber,
    Width,
    WtPercent,
    Years,
)


class _Table(Room):
    @property
    def says(self) -> bool:
        """Return whether anything of the table is stated."""
        return self != type(self)()


class Printing(_Table):
    """Stencil and paste: `aperture_um` is the side of the smallest square or round opening."""

    foil_um: Foil = UNKNOWN
    aperture_um: OpeningUm = UNKNOWN
    fine_foil: Flag = UNKNOWN
    transfer_share: Transfer = UNKNOWN
    metal_wt: WtPercent = UNKNOWN
    standoff_um: Width = UNKNOWN


class Mixing(_Table):
    """Mixed joints: the measured share of a ball that the paste dissolves, and an alloy that joints are reworked with.

    Where the share is not known the most that the peak can dissolve bounds it; `rework_share` is the mass share of the
    new metal in a reworked joint.
    """

    dissolved_share: Share = UNKNOWN
    rework_alloy: Ball = UNKNOWN
    rework_share: Share = UNKNOWN


class StepLimit(Room):
    """Something in the heat of a step, and the hottest joint that it allows, degC."""

    name: Name
    limit_c: TemperatureC = UNKNOWN


class Step(Room):
    """One soldering step, in the order in which they are made.

    `allowed`: alloys that may be used, all where empty. `may_remelt`, `meets`: earlier steps whose joints may melt
    here, and whose metal this one touches. `reworks`: the earlier step whose joint is melted again on purpose.
    """

    name: Name
    limits: Annotated[tuple[StepLimit, ...], Rows] = ()
    allowed: Names = ()
    superheat_k: SpanK = UNKNOWN
    spread_k: SpanK = UNKNOWN
    may_remelt: Names = ()
    reworks: Name = "none"
    meets: NamesOrUnknown = UNKNOWN


class Life(_Table):
    """Wear of the joint farthest from the middle of its part: `distance_mm` between them, `height_um` of solder.

    `failed_share`: the share of products that may have failed by the end of `years`. `opening_um`: the round opening
    that `current_a` enters a joint by.
    """

    environment: Name = UNKNOWN
    years: Years = UNKNOWN
    failed_share: Share = UNKNOWN
    distance_mm: Millimetres = UNKNOWN
    height_um: Width = UNKNOWN
    board_ppm_k: Expansion = UNKNOWN
    part_ppm_k: Expansion = UNKNOWN
    dwell_min: Minutes = UNKNOWN
    current_a: Amperes = UNKNOWN
    opening_um: Width = UNKNOWN


class Materials(_Table):
    """What meets the joint besides its metals; `base_metal` is what lies under finish and joint."""

    flux_class: Flux = UNKNOWN
    cleaning: Cleaning = UNKNOWN
    underfill: Underfill = UNKNOWN
    underfill_cure_c: TemperatureC = UNKNOWN
    coating: Coating = UNKNOWN
    pad_finish: PadFinish = UNKNOWN
    base_metal: BaseMetal = UNKNOWN
    humid: Flag = UNKNOWN
    vacuum: Flag = UNKNOWN


class ElementPrice(Room):
    """The user's own price of an element, USD/kg."""

    element: Element
    usd_kg: Price


class Footprint(_Table):
    """Energy, carbon and cost of one board; prices of the user's own take the place of the listed ones."""

    grid_kg_kwh: GridFactor = UNKNOWN
    usual_peak_c: TemperatureC = UNKNOWN
    boards_h: PerHour = UNKNOWN
    joints: WholeNumber = UNKNOWN
    joint_volume_mm3: Volume = UNKNOWN
    prices_dated: Name = UNKNOWN
    prices: Annotated[tuple[ElementPrice, ...], Rows] = ()

    @property
    def usd_kg(self) -> dict[str, float]:
        """Return the user's own prices by element."""
        return {row.element: row.usd_kg for row in self.prices}


BOARD_TABLES = ("printing", "mixing", "life", "materials", "footprint")
