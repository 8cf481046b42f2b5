"""What a brief says about window, print, footprint and heat, as the texts that a page starts from."""

from selector.brief import Brief
from selector.enquiry.joint_asked import numbers_of
from selector.fields import UNKNOWN
from selector.figures import plain_number

# What the residue does is judged alike; halide is for the material sets.
FLUX_KINDS = {"no-clean": "no-clean", "no-clean with halide": "no-clean", "water-soluble": "water-soluble"}


def window_texts(brief: Brief | None) -> dict[str, str]:
    """Return superheat, spread, the finest ball pitch and the usual peak, where the brief states them."""
    if brief is None:
        return {}
    found = numbers_of(brief.process, (("superheat_k", "superheat_k"), ("spread_k", "board_spread_k")))
    found |= _pitch(brief)
    return found | numbers_of(getattr(brief, "footprint", None), (("usual_peak_c", "usual_peak_c"),))


def print_texts(brief: Brief | None) -> dict[str, str]:
    """Return foil, smallest aperture, pitch, powder, standoff, flux and underfill cure, where the brief states them."""
    if brief is None:
        return {}
    names = ("aperture_um", "foil_um", "standoff_um")
    found = numbers_of(getattr(brief, "printing", None), tuple((name, name) for name in names))
    found |= _pitch(brief) | numbers_of(brief.process, (("powder_type", "powder_type"),))
    materials = getattr(brief, "materials", None)
    found |= numbers_of(materials, (("cure_c", "underfill_cure_c"),))
    words = {
        "flux": FLUX_KINDS.get(getattr(materials, "flux_class", UNKNOWN), ""),
        "washed": "yes" if getattr(materials, "cleaning", UNKNOWN) == "proved" else "",
        "underfilled": "yes" if getattr(materials, "underfill", UNKNOWN) not in (UNKNOWN, "none") else "",
        "fine_foil": "yes" if getattr(getattr(brief, "printing", None), "fine_foil", UNKNOWN) is True else "",
    }
    return found | {name: word for name, word in words.items() if word}


def footprint_texts(brief: Brief | None) -> tuple[dict[str, str], str]:
    """Return the figures of a brief's footprint, and its own prices as one text."""
    own = getattr(brief, "footprint", None)
    names = (("grid_factor", "grid_kg_kwh"), ("usual_peak_c", "usual_peak_c"), ("boards_h", "boards_h"))
    found = numbers_of(own, (*names, ("joints", "joints"), ("joint_mm3", "joint_volume_mm3")))
    dated = getattr(own, "prices_dated", UNKNOWN)
    found |= {"dated": str(dated)} if dated != UNKNOWN else {}
    prices = getattr(own, "usd_kg", {})
    return found, "; ".join(f"{element}={plain_number(value)}" for element, value in prices.items())


def heat_texts(brief: Brief | None) -> tuple[dict[str, str], tuple[str, ...], tuple[str, ...]]:
    """Return service and class of a brief; part and board as layers, and the joint between them, where it states one.

    What it leaves open of them is `unknown`; part and board see the same swing.
    """
    if brief is None:
        return {}, (), ()
    found = numbers_of(brief.service, (("service_c", "maximum_c"),))
    found |= numbers_of(brief, (("ipc_class", "ipc_class"),))
    names = ("part_ppm_k", "board_ppm_k", "distance_mm", "height_um")
    own = dict.fromkeys(names, UNKNOWN) | numbers_of(brief.life, tuple((name, name) for name in names))
    swing = numbers_of(brief.service, (("swing", "cyclic_range_k"),)).get("swing", UNKNOWN)
    if UNKNOWN in (own["part_ppm_k"], own["board_ppm_k"]):
        return found, (), ()

    def with_unit(text: str, unit: str) -> str:
        return text if text == UNKNOWN else f"{text}{unit}"

    layers = [f"{name}={own[f'{name}_ppm_k']}ppm@{with_unit(swing, 'K')}" for name in ("part", "board")]
    join = f"part+board={with_unit(own['distance_mm'], 'mm')}/{with_unit(own['height_um'], 'um')}"
    return found, tuple(layers), (join,)


def _pitch(brief: Brief) -> dict[str, str]:
    stated = [part.pitch_mm for part in brief.parts if not isinstance(part.pitch_mm, str)]
    return {"pitch_mm": plain_number(min(stated))} if stated else {}
