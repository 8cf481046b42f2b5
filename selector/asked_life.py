"""What a person states about a joint's service, at the verb `life` or on its page, beside a brief or a default use."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from selector import asked
from selector.brief import Brief
from selector.catalogue import Catalogue
from selector.catalogue.derived import mixed_density
from selector.durability.environments import environment
from selector.enquiry.onset import onset_of
from selector.errors import Fault, InputError, shown
from selector.fields import UNKNOWN
from selector.lifetime.asked import Asked, from_brief
from selector.process.material_sets import KINDS, standoff_kind


def asked_of(
    alloy: str,
    catalogue: Catalogue,
    brief: Brief | None = None,
    use: str = "",
    stated: Mapping[str, Any] | None = None,
) -> Asked:
    """Return what is known of a joint: own figures before those of the brief, those before a default use.

    Parameters
    ----------
    alloy : str
        Any spelling; one that is not in the catalogue is computed, and its laws are those of its composition.
    catalogue : Catalogue
    brief : Brief, optional
    use : str
        A row of the use environments; empty for none.
    stated : mapping, optional
        By the names of `Asked`; None where not stated. Materials join those of the brief, kind by kind.

    Raises
    ------
    InputError
        An alloy that is none, or a use that is not held.
    """
    faults: list[Fault] = []
    named = asked.named([("", alloy)], catalogue, faults, cover=False)
    asked.refuse(faults)
    found = named[0]
    told: dict[str, Any] = {}
    use = use or ("" if brief is None or brief.life.environment == UNKNOWN else brief.life.environment)
    if use:
        row = environment(use)
        told |= {"swing_k": row.swing_k, "cycles_per_day": row.cycles_per_day, "coldest_c": row.low_c}
        told |= {} if row.dwell_min is None else {"dwell_min": row.dwell_min}
        told |= {} if row.years_high is None else {"years": row.years_high}
        told["service_max_c"] = row.high_c
    told |= {} if brief is None else from_brief(brief)
    around = {**told.get("materials", {}), **((stated or {}).get("materials") or {})}
    told |= {name: value for name, value in (stated or {}).items() if value is not None}
    told["materials"] = MappingProxyType(around)
    if "coldest_c" not in told and "service_min_c" in told:
        told["coldest_c"] = told["service_min_c"]
    held = catalogue.alloys.get(found.name)
    density = mixed_density(found.composition, catalogue.elements) if held is None else held.of("density_g_cm3").value
    return Asked(
        found.name, found.composition, onset_of(found, catalogue), density_g_cm3=density, default_use=use, **told
    )


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def materials(texts: Sequence[str], faults: list[Fault]) -> dict[str, str]:
    """Return the materials around a joint, `flux=no-clean`, and add what is wrong with the others.

    A standoff may be a number of micrometres.
    """
    found: dict[str, str] = {}
    for text in texts:
        kind, equals, value = (part.strip() for part in text.partition("="))
        if kind == "standoff" and (height_um := _number(value)) is not None:
            try:
                value = standoff_kind(height_um)
            except InputError as error:
                faults += [replace(fault, where="--set standoff") for fault in error.faults]
                continue
        kinds = {name: values for name, values in KINDS.items() if name != "alloy"}
        if not equals or kind not in kinds:
            faults.append(Fault("--set", "is no kind of material", shown(text), ", ".join(f"{k}=" for k in kinds)))
        elif value not in kinds[kind]:
            allowed = ", ".join(kinds[kind]) + (", or um" if kind == "standoff" else "")
            faults.append(Fault(f"--set {kind}", "is not in the list", shown(value), allowed))
        else:
            found[kind] = value
    return found
