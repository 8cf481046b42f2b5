"""Which fields of the brief speak of the joint on its board; drawn in a fold of the page Brief."""

FOLD = "On the board: print, mixed joints, life, materials, footprint"
GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Print",
        (
            "printing.foil_um",
            "printing.aperture_um",
            "printing.fine_foil",
            "printing.transfer_share",
            "printing.metal_wt",
            "printing.standoff_um",
        ),
    ),
    ("Mixed joints", ("mixing.dissolved_share", "mixing.rework_alloy", "mixing.rework_share")),
    (
        "Life",
        (
            "life.environment",
            "life.years",
            "life.failed_share",
            "life.distance_mm",
            "life.height_um",
            "life.board_ppm_k",
            "life.part_ppm_k",
            "life.dwell_min",
            "life.current_a",
            "life.opening_um",
        ),
    ),
    (
        "Materials",
        (
            "materials.flux_class",
            "materials.cleaning",
            "materials.underfill",
            "materials.underfill_cure_c",
            "materials.coating",
            "materials.pad_finish",
            "materials.base_metal",
            "materials.humid",
            "materials.vacuum",
        ),
    ),
    (
        "Footprint",
        (
            "footprint.grid_kg_kwh",
            "footprint.usual_peak_c",
            "footprint.boards_h",
            "footprint.joints",
            "footprint.joint_volume_mm3",
            "footprint.prices_dated",
            "footprint.prices",
        ),
    ),
)
STEP_COLUMNS = ("name", "limits", "allowed", "superheat_k", "spread_k", "reworks", "may_remelt", "meets")
