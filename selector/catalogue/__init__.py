"""The catalogue: alloys with their evidence, found by any spelling."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from selector import composition as spelling
from selector.catalogue import derived
from selector.catalogue.bands import SCALES, Band, unknown_band
from selector.catalogue.evidence import Evidence, Observation, choose, nothing
from selector.catalogue.tables import TABLES, Row, Tables, number, observation, read_tables
from selector.composition import Composition
from selector.datafiles import data_folder, data_hash
from selector.errors import Fault, InputError, shown

if TYPE_CHECKING:
    import pandas as pd

NEWEST_PRICES = "2024"
FORMS = ("paste", "wire", "preform", "bar")
CORE_PROPERTIES = MappingProxyType(
    {
        # Looked for in every alloy, so that a gap shows as a gap.
        "solidus_c": "degC",
        "liquidus_c": "degC",
        "density_g_cm3": "g/cm3",
        "tensile_mpa": "MPa",
        "elongation_percent": "%",
        "youngs_modulus_gpa": "GPa",
        "shear_mpa": "MPa",
        "cte_ppm_k": "ppm/K",
        "thermal_conductivity_w_mk": "W/(m K)",
        "resistivity_uohm_cm": "uohm cm",
        "contact_angle_deg": "deg",
    }
)


@dataclass(frozen=True)
class Source:
    """Where a figure comes from."""

    id: str
    citation: str
    kind: str
    year: str
    how_read: str

    @property
    def text(self) -> str:
        """Return the citation with its kind and how much of it was read."""
        return f"{self.citation} ({self.kind}; read: {self.how_read})"


@dataclass(frozen=True)
class Alloy:
    """A generic alloy with everything that is known of it.

    Parameters
    ----------
    id : str
        The trade's usual name.
    composition : Composition
    family : str
    listed : bool
        Whether it stands in the default list; fusible, cadmium and gallium grades do not.
    names : tuple of str
        Spellings that do not follow from the composition.
    forms : mapping
        paste, wire, preform, bar -> common, special, no or unknown (common practice).
    evidence : mapping
        Property -> Evidence; derived quantities included.
    bands : mapping
        Ordered facts, one for every scale.
    notes : tuple of Observation
        What sources say in words.
    """

    id: str
    composition: Composition
    family: str
    listed: bool
    names: tuple[str, ...]
    note: str
    forms: Mapping[str, str]
    forms_source: str
    evidence: Mapping[str, Evidence]
    bands: Mapping[str, Band]
    notes: tuple[Observation, ...]

    def of(self, name: str) -> Evidence:
        """Return the evidence for a property, empty evidence where no row exists."""
        return self.evidence.get(name) or nothing(name, CORE_PROPERTIES.get(name, ""))

    @property
    def ductility(self) -> tuple[str, str, str]:
        """Return the ductility class with the best and worst that the interval allows, all "unknown" where it is."""
        return derived.ductility_classes(self.of("elongation_percent"))


@dataclass(frozen=True)
class Catalogue:
    """All alloys, with the sources and elements they rest on and a hash of the data."""

    alloys: Mapping[str, Alloy]
    sources: Mapping[str, Source]
    elements: Mapping[str, derived.Element]
    hash: str

    def listed(self) -> tuple[Alloy, ...]:
        """Return the alloys of the default list, in catalogue order."""
        return tuple(alloy for alloy in self.alloys.values() if alloy.listed)

    def held(self, text: str) -> Alloy | None:
        """Return the alloy that a spelling means, None where the catalogue holds none."""
        try:
            return self.find(text)
        except InputError:
            return None

    def find(self, text: str) -> Alloy:
        """Return the alloy that a spelling means.

        Raises
        ------
        InputError
            No such alloy; the fault names the nearest ones.
        """
        wanted = plain_name(text)
        for alloy in self.alloys.values():
            if wanted in {plain_name(alloy.id), *map(plain_name, alloy.names)}:
                return alloy
        try:
            composition = spelling.parse(text)
        except InputError as error:
            known = {name.casefold(): alloy.id for alloy in self.alloys.values() for name in (*alloy.names, alloy.id)}
            near = list(dict.fromkeys(known[name] for name in get_close_matches(text.casefold(), list(known), 3, 0.6)))
            remedy = f"near to it: {', '.join(near)}" if near else "see the command `alloys` for the whole list"
            raise InputError(
                "the name of the alloy",
                [
                    Fault(shown(text), "is neither a name in the catalogue nor a composition", remedy=remedy),
                    *error.faults,
                ],
            ) from None
        for alloy in self.alloys.values():
            if alloy.composition == composition:
                return alloy
        nearest = sorted(self.alloys.values(), key=lambda alloy: _distance(alloy.composition, composition))[:3]
        raise InputError(
            "the name of the alloy",
            [
                Fault(
                    shown(text),
                    f"reads as {composition}, which is not in the catalogue",
                    remedy="nearest by composition: "
                    + ", ".join(alloy.id for alloy in nearest)
                    + "; any other composition can be asked of melt, joint, life and comply",
                )
            ],
        )

    def frame(self) -> "pd.DataFrame":
        """Return one row an alloy with its chief properties, their intervals and grades."""
        import pandas as pd

        rows = []
        for alloy in self.alloys.values():
            row: dict[str, object] = {
                "alloy": alloy.id,
                "composition": str(alloy.composition),
                "family": alloy.family,
                "listed": alloy.listed,
                **dict(zip(("ductility_class", "ductility_best", "ductility_worst"), alloy.ductility, strict=True)),
            }
            for name in ("solidus_c", "liquidus_c", "pasty_range_k", "density_g_cm3", "relative_cost"):
                entry = alloy.of(name)
                row |= {name: entry.value, f"{name}_low": entry.low, f"{name}_high": entry.high}
                row[f"{name}_grade"] = entry.grade
                row[f"{name}_source"] = entry.source
            row |= {name: band.text() for name, band in alloy.bands.items()}
            row["restricted_ppm"] = "; ".join(
                f"{element} {content:g}" for element, content in derived.restricted_flags(alloy.composition).items()
            )
            rows.append(row)
        return pd.DataFrame(rows)


def plain_name(text: str) -> str:
    """Return a name as `find` compares it: without regard to case, spaces, hyphens, dashes and underscores."""
    return re.sub(r"[\s_–-]+", " ", text.strip()).casefold()


def _distance(one: Composition, other: Composition) -> float:
    return float(sum(abs(one.wt(element) - other.wt(element)) for element in {*one.elements, *other.elements}))


@cache
def load(folder: Path | None = None) -> Catalogue:
    """Return the catalogue of a folder of tables, the shipped one where none is named.

    Raises
    ------
    InputError
        Every fault of every table.
    """
    tables = read_tables(folder)
    elements = _elements(tables)
    compositions = _compositions(tables.compositions)
    by_alloy: dict[str, dict[str, list[Observation]]] = {}
    for row in tables.observations:
        entry = observation(row)
        by_alloy.setdefault(entry.alloy, {}).setdefault(entry.name, []).append(entry)
    bands: dict[str, dict[str, Band]] = {}
    for row in tables.bands:
        bands.setdefault(row["alloy"], {})[row["property"]] = _band(row)
    evidence = {alloy: _measured(by_alloy.get(alloy, {})) for alloy in compositions}
    reference = derived.REFERENCE_ALLOY
    reference_density = derived.density(compositions[reference], elements, evidence[reference]["density_g_cm3"])
    alloys = {}
    for row in tables.alloys:
        alloy = row["alloy"]
        made_of, facts = compositions[alloy], evidence[alloy]
        facts["density_g_cm3"] = derived.density(made_of, elements, facts["density_g_cm3"])
        facts["pasty_range_k"] = derived.pasty_range(facts["solidus_c"], facts["liquidus_c"])
        facts["supply_risk_wt"] = derived.supply_share(made_of, elements)
        facts["relative_cost"] = derived.relative_cost(
            made_of, elements, facts["density_g_cm3"], compositions[reference], reference_density, NEWEST_PRICES
        )
        alloys[alloy] = Alloy(
            id=alloy,
            composition=made_of,
            family=row["family"],
            listed=row["listed"] == "yes",
            names=tuple(name.strip() for name in row["names"].split(";") if name.strip()),
            note=row["note"],
            forms=MappingProxyType({form: row[form] for form in FORMS}),
            forms_source=row["forms_source"],
            evidence=MappingProxyType(facts),
            bands=MappingProxyType({scale: bands.get(alloy, {}).get(scale) or unknown_band(scale) for scale in SCALES}),
            notes=tuple(entry for rows in by_alloy.get(alloy, {}).values() for entry in rows if entry.unit == "text"),
        )
    sources = {
        row["source"]: Source(row["source"], row["citation"], row["kind"], row["year"], row["how_read"])
        for row in tables.sources
    }
    return Catalogue(
        MappingProxyType(alloys),
        MappingProxyType(sources),
        MappingProxyType(elements),
        data_hash(folder or data_folder(), TABLES),
    )


def _compositions(rows: Iterable[Row]) -> dict[str, Composition]:
    amounts: dict[str, dict[str, object]] = {}
    for row in rows:
        amounts.setdefault(row["alloy"], {})[row["element"]] = row["wt_percent"]
    return {alloy: spelling.from_mapping(parts, alloy) for alloy, parts in amounts.items()}


def _measured(rows: Mapping[str, list[Observation]]) -> dict[str, Evidence]:
    facts = {name: choose(name, unit, rows.get(name, ())) for name, unit in CORE_PROPERTIES.items()}
    for name, entries in rows.items():
        if name not in facts and entries[0].unit != "text":
            facts[name] = choose(name, entries[0].unit, entries)
    return facts


def _band(row: Row) -> Band:
    return Band(
        row["property"],
        row["level"] or None,
        row["level_best"],
        row["level_worst"],
        row["source"],
        row["origin"],
        row["grade"],
        row["note"],
    )


def _elements(tables: Tables) -> dict[str, derived.Element]:
    prices: dict[str, dict[str, float]] = {}
    price_sources: dict[str, dict[str, str]] = {}
    price_grades: dict[str, dict[str, str]] = {}
    for row in tables.prices:
        if row["standing"] == "usable":
            prices.setdefault(row["element"], {})[row["price_list"]] = float(row["usd_kg"])
            price_sources.setdefault(row["element"], {})[row["price_list"]] = row["source"]
            price_grades.setdefault(row["element"], {})[row["price_list"]] = row["grade"]
    supply = {row["element"]: row for row in tables.supply}
    return {
        row["symbol"]: derived.Element(
            symbol=row["symbol"],
            density_g_cm3=number(row["density_g_cm3"]) or float("nan"),
            density_source=row["value_source"],
            prices_usd_kg=MappingProxyType(prices.get(row["symbol"], {})),
            price_sources=MappingProxyType(price_sources.get(row["symbol"], {})),
            price_grades=MappingProxyType(price_grades.get(row["symbol"], {})),
            supply_flag=supply.get(row["symbol"], {}).get("flagged", "unknown"),
            supply_reason=supply.get(row["symbol"], {}).get("reason", "not looked up"),
            supply_source=supply.get(row["symbol"], {}).get("source", "none"),
            supply_grade=supply.get(row["symbol"], {}).get("grade", "low"),
        )
        for row in tables.elements
    }
