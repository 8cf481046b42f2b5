"""Composition in the XML of IEC 62474, written and read.

Written after the public schema of the standard's data base, X8.21 of 2024-08-31: namespace, elements, their order and
the attributes that must be there. The file names no supplier, no contact and nobody who authorises, and says that the
declaration is not complete: only the supplier can declare. The declarable substance list is not checked, and the file
says that too.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree

from selector.compliance.rule_fields import is_cas
from selector.composition import Composition, decimal_text, from_mapping
from selector.datafiles import read_text
from selector.errors import Fault, InputError, shown
from selector.record.sheet import MEASURED, NO_DECLARATION, Certificate, Content, Sheet, written
from selector.record.substances import of_cas, substances
from selector.units import PPM_PER_PERCENT, exact

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

NAMESPACE = "http://std.iec.ch/iec62474"
SCHEMA = "X8.21"
GRAMS = {"mg": Fraction(1, 1000), "g": Fraction(1), "kg": Fraction(1000)}
G_PER_KG_PERCENT = 10  # 1 wt% of the kilogram that the file is about
KEPT = re.compile(r"; (\d{1,3}(?:\.\d{1,30})?) wt% nominal$")  # our own remark, where the mass is not the nominal one
CAS_LIST = {"authority": "CAS", "identity": "CAS Registry Number", "version": "not stated"}


@dataclass(frozen=True)
class Imported:
    """A composition read from a file.

    Parameters
    ----------
    name : str
        As the file calls the material.
    composition : Composition
        Nominal.
    traces : tuple of (str, Fraction)
        Contents that the file marks as measured, ppm.
    certificate : Certificate
        Empty where the file holds none.
    notes : tuple of str
        What was set aside in reading, in words.
    """

    name: str
    composition: Composition
    traces: tuple[tuple[str, Fraction], ...] = ()
    certificate: Certificate = field(default_factory=Certificate)
    notes: tuple[str, ...] = ()


def sheet_xml(sheet: Sheet) -> str:
    """Return the composition of a sheet as IEC 62474 XML, for one kilogram of the solder."""
    head = {"xmlns": NAMESPACE, "schemaDatabaseVersion": SCHEMA, "declarationComplete": "false"}
    main = ElementTree.Element("Main", head)
    _add(main, "BusinessInfo", mode="Distribution")
    product = _add(main, "Product", unitType="kg", isArticle="false", comment=NO_DECLARATION)
    _add(_add(product, "ProductID", name=sheet.name), "Mass", mass="1", unitOfMeasure="kg")
    composition = _add(product, "Composition", isFMD="false")
    _add(composition, "DeclarableSubstanceList", authority="IEC", identity="IEC 62474", version="not checked")
    measured = [f"{name}: {text}" for name, text in sheet.certificate.fields if text]
    contents, told_of = _whole(sheet)
    told = "; ".join([*([told_of] if told_of else []), *measured]) or "nominal contents"
    material = _add(composition, "Material", name=sheet.name, comment=told, isArticle="false")
    _add(material, "Mass", mass="1", unitOfMeasure="kg")
    for entry, share, remark in contents:
        wt = decimal_text(share)
        substance = _add(material, "Substance", name=entry.name, comment=remark)
        listed = _add(substance, "SubstanceID")
        _add(listed, "ListID", **CAS_LIST)
        _add(listed, "EntryID", entryIdentity=entry.cas, entryDescription=entry.element)
        _add(substance, "Mass", mass=decimal_text(share * G_PER_KG_PERCENT), unitOfMeasure="g")
        _add(substance, "MassPercent", massPercent=wt)
    _add(main, "ToolNameVersionID", authority="Meltwise", identity="Meltwise", version=sheet.version)
    ElementTree.indent(main)
    text: str = ElementTree.tostring(main, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<!-- {NO_DECLARATION} -->\n{text}\n'


def _whole(sheet: Sheet) -> tuple[list[tuple[Content, Fraction, str]], str]:
    """Return each substance once with wt% and remark, adding up to the kilogram; and what was done for that.

    What was measured takes its measured content, and the largest constituent that was not makes up the rest; the
    remark keeps the nominal content, so that the file reads back without loss.
    """
    nominal = {element: Fraction(wt) for element, wt in written(sheet.composition).items()}
    traces = {entry.element: entry.wt_percent for entry in sheet.contents if entry.basis == MEASURED}
    rest = [element for element in nominal if element not in traces]
    main = max(rest, key=nominal.__getitem__, default=sheet.composition.matrix)
    held = {**nominal, **traces}
    balance = 100 - sum((wt for element, wt in held.items() if element != main), Fraction(0))
    if not traces or not rest or balance < 0:
        side = [(e, e.wt_percent if e.basis == MEASURED else nominal[e.element], e.basis) for e in sheet.contents]
        return side, "measured contents stand beside the nominal ones" if traces else ""
    held[main] = balance
    rows = []
    for entry in sheet.contents:
        if entry.basis == MEASURED or entry.element not in traces:
            given, wt = nominal.get(entry.element), held[entry.element]
            kept = "" if given is None or given == wt else f"; {decimal_text(given)} wt% nominal"
            rows.append((entry, wt, f"{entry.basis}{kept}"))
    told = f"measured contents stand in place of the nominal ones and {main} makes up the rest of the kilogram"
    return rows, told


def _tag(name: str) -> str:
    return f"{{{NAMESPACE}}}{name}"


def _add(parent: "Element", tag: str, /, **attributes: str) -> "Element":
    return ElementTree.SubElement(parent, tag, attributes)


def read_xml(path: Path) -> list[Imported]:
    """Return the compositions of an IEC 62474 XML file: one for each material, or for a product without materials.

    Raises
    ------
    InputError
        Every fault: no XML, an entity or a document type in it, another namespace, substances without a CAS number
        or that are no element of the table, contents that are no number or do not add up.
    """
    what = f"the composition file {path.name}"
    text = read_text(path, what)
    main = _parsed(text, what, path.name)
    faults: list[Fault] = []
    if main.tag != _tag("Main"):
        problem = "is not the root of an IEC 62474 file"
        raise InputError(what, [Fault(path.name, problem, shown(main.tag), f"Main in {NAMESPACE}")])
    version = main.get("schemaDatabaseVersion", "")
    notes = []
    if version != SCHEMA:
        notes.append(f"the file says schema {version or 'unknown'}, and was read by {SCHEMA}")
    found = []
    for name, holder in _materials(main):
        read = _material(name, holder, faults)
        if read is not None:
            composition, traces, ranges = read
            found.append(Imported(name, composition, traces, notes=(*notes, *ranges)))
    if not found and not faults:
        remedy = "ask the supplier for the full composition: compliance statements hold no contents to judge"
        faults.append(Fault(path.name, "holds no material with substances", remedy=remedy))
    if faults:
        raise InputError(what, faults)
    return found


def _parsed(text: str, what: str, where: str) -> "Element":
    from defusedxml import DefusedXmlException  # type: ignore[import-untyped]
    from defusedxml.ElementTree import fromstring  # type: ignore[import-untyped]

    try:
        root: Element = fromstring(text, forbid_dtd=True)
    except DefusedXmlException:
        problem = "holds a document type or an entity, which no composition needs"
        raise InputError(what, [Fault(where, problem, remedy="take it out")]) from None
    except (ElementTree.ParseError, ValueError) as error:
        raise InputError(what, [Fault(where, f"is not well-formed XML ({error})")]) from None
    except RecursionError:
        raise InputError(what, [Fault(where, "is nested too deeply", allowed="a few levels")]) from None
    return root


def _materials(main: "Element") -> Iterator[tuple[str, "Element"]]:
    """Yield each element that holds substances, with a name; compositions only, not compliance statements."""
    for number, product in enumerate(main.findall(_tag("Product")), 1):
        name = _named(product, f"product {number}")
        for composition in product.findall(_tag("Composition")):
            for holder in composition.iter():
                if holder.find(_tag("Substance")) is None:
                    continue
                if holder.tag == _tag("Material"):
                    yield holder.get("name") or name, holder
                else:
                    yield _named(holder, name), holder


def _named(holder: "Element", otherwise: str) -> str:
    found = holder.find(_tag("ProductID"))
    return otherwise if found is None else found.get("name") or found.get("identifier") or otherwise


def _material(
    name: str, holder: "Element", faults: list[Fault]
) -> tuple[Composition, tuple[tuple[str, Fraction], ...], list[str]] | None:
    """Return nominal composition, measured contents in ppm and notes; None where something is wrong."""
    before = len(faults)
    rows = []
    notes: list[str] = []
    for number, substance in enumerate(holder.findall(_tag("Substance")), 1):
        place = f"{shown(name)}, substance {number}"
        element = _element(substance, place, faults)
        amount = _amount(substance, place, faults, notes)
        comment = (substance.get("comment") or "").strip()
        measured, kept = comment.lower().startswith(MEASURED), KEPT.search(comment)
        if element and amount and kept is not None and amount[0] == "wt%":
            rows.append((place, element, (amount[0], exact(kept[1])), False))
        if element and amount and (measured or kept is None):
            rows.append((place, element, amount, measured))
    kinds = {unit for _, _, (unit, _), _ in rows}
    if len(kinds) > 1:
        remedy = "give every content as MassPercent, or every one as Mass"
        faults.append(Fault(shown(name), "mixes mass and mass percent", remedy=remedy))
    if len(faults) > before:
        return None
    total = sum((value for _, _, (_, value), measured in rows if not measured), Fraction(0))
    nominal: dict[str, object] = {}
    traces: dict[str, Fraction] = {}
    for place, element, (unit, value), measured in rows:
        wt = value if unit == "wt%" else value * 100 / total if total else Fraction(0)
        if element in (traces if measured else nominal):
            faults.append(Fault(place, "is given twice", element, "each substance once"))
        elif measured:
            traces[element] = wt * PPM_PER_PERCENT
        else:
            nominal[element] = wt
    try:
        composition = from_mapping(nominal, shown(name))
    except InputError as error:
        faults += error.faults
    if len(faults) > before:
        return None
    return composition, tuple(sorted(traces.items())), notes


def _element(substance: "Element", place: str, faults: list[Fault]) -> str:
    """Return the element of a substance by its CAS number, empty with a fault where there is none."""
    entries = [entry.get("entryIdentity", "").strip() for entry in substance.iter(_tag("EntryID"))]
    numbers = [entry for entry in entries if is_cas(entry)]
    told = shown(substance.get("name") or (entries[0] if entries else ""))
    if not numbers:
        remedy = "give SubstanceID with the CAS number as entryIdentity"
        faults.append(Fault(place, "has no CAS number whose check digit holds", told, remedy=remedy))
        return ""
    for number in numbers:
        found = of_cas(number)
        if found is not None:
            return found.element
    faults.append(
        Fault(
            place,
            "is no element that is known here",
            f"{told}, CAS {numbers[0]}",
            ", ".join(f"{entry.element} {entry.cas}" for entry in list(substances().values())[:6]) + " and the like",
            "only the metal of a solder is judged: leave out flux and compounds, and give the metal as 100 %",
        )
    )
    return ""


def _amount(substance: "Element", place: str, faults: list[Fault], notes: list[str]) -> tuple[str, Fraction] | None:
    """Return the content in wt% or in grams, None with a fault where there is none."""
    percent, mass = substance.find(_tag("MassPercent")), substance.find(_tag("Mass"))
    holder = percent if percent is not None else mass
    if holder is None:
        faults.append(Fault(place, "has no content", remedy="give MassPercent or Mass"))
        return None
    key = "massPercent" if percent is not None else "mass"
    if any(holder.get(f"{key}Range{end}") for end in ("Min", "Max")):
        ends = " to ".join(str(holder.get(f"{key}Range{end}")) for end in ("Min", "Max"))
        notes.append(f"{place}: a range from {ends} is given; the stated {holder.get(key)} is taken")
    factor = Fraction(1)
    if percent is None:
        unit = holder.get("unitOfMeasure", "")
        if unit not in GRAMS:
            faults.append(Fault(place, "has a mass in no known unit", shown(unit), ", ".join(GRAMS)))
            return None
        factor = GRAMS[unit]
    try:
        value = exact((holder.get(key) or "").strip()) * factor
    except (ValueError, ZeroDivisionError, OverflowError):
        faults.append(Fault(place, f"has a {key} that is no number", shown(holder.get(key)), "a number above 0"))
        return None
    if value < 0:
        faults.append(Fault(place, f"has a {key} below zero", shown(holder.get(key)), "a number above 0"))
        return None
    return ("wt%" if percent is not None else "g"), value
