"""Composition by IEC 62474: written in the order and with the attributes of the public schema, read without loss."""

from datetime import date
from fractions import Fraction
from xml.etree import ElementTree

import pytest

from selector.compliance.context import context
from selector.composition import mixed, parse
from selector.errors import InputError
from selector.record.iec62474 import NAMESPACE, read_xml, sheet_xml
from selector.record.sheet import Certificate, sheet

TODAY = date(2026, 11, 25)
# Of the schema X8.21: the children of each element that is written, in order, and the attributes that must be there.
CHILDREN = {
    "Main": ("Include", "BusinessInfo", "Product", "Signature", "ToolNameVersionID"),
    "BusinessInfo": ("Request", "Response", "Attachment"),
    "Product": ("ProductID", "Compliance", "Composition"),
    "ProductID": ("Mass", "MassPercent"),
    "Composition": ("DeclarableSubstanceList", "ProductPart", "Material", "Substance"),
    "Material": ("MaterialID", "MaterialClassID", "Mass", "MassPercent", "Substance"),
    "Substance": ("SubstanceID", "DsgID", "Mass", "MassPercent"),
    "SubstanceID": ("ListID", "EntryID"),
}
UNIQUE = {"authority", "identity", "version"}
NEEDED = {
    "Main": {"schemaDatabaseVersion"},
    "BusinessInfo": {"mode"},
    "Product": {"unitType"},
    "Material": {"name"},
    "Mass": {"mass", "unitOfMeasure"},
    "MassPercent": {"massPercent"},
    "EntryID": {"entryIdentity"},
    **dict.fromkeys(("DeclarableSubstanceList", "ListID", "ToolNameVersionID"), UNIQUE),
}


def made(alloy="SAC305", given=None, **traces):
    asked = context(date(2027, 9, 1), markets=["EU"], traces={k: Fraction(v) for k, v in traces.items()})
    return sheet(alloy, parse(alloy), [asked], given, TODAY)


def kept(tmp_path, text):
    path = tmp_path / "composition.xml"
    path.write_text(text, encoding="utf-8")
    return path


def test_what_is_written_follows_the_schema():
    main = ElementTree.fromstring(sheet_xml(made(Pb=450)))
    assert main.tag == f"{{{NAMESPACE}}}Main"
    for element in main.iter():
        name = element.tag.removeprefix(f"{{{NAMESPACE}}}")
        inner = [child.tag.removeprefix(f"{{{NAMESPACE}}}") for child in element]
        allowed = CHILDREN.get(name, ())
        assert set(inner) <= set(allowed), name
        assert inner == sorted(inner, key=allowed.index), name
        assert NEEDED.get(name, set()) <= set(element.attrib), name
    assert main.find(f"{{{NAMESPACE}}}BusinessInfo").get("mode") == "Distribution"
    # Nobody is named who would declare.
    assert not list(main.iter(f"{{{NAMESPACE}}}Response"))
    assert main.get("declarationComplete") == "false"
    percents = [float(entry.get("massPercent")) for entry in main.iter(f"{{{NAMESPACE}}}MassPercent")]
    grams = [float(entry.get("mass")) for entry in main.iter(f"{{{NAMESPACE}}}Mass")][2:]
    assert percents == [96.455, 3, 0.5, 0.045]
    assert grams == [964.55, 30, 5, 0.45]  # of one kilogram: tin makes up the rest


def test_it_says_that_it_is_no_declaration():
    text = sheet_xml(made(given=Certificate("L-1 <&>", 'the "lab"')))
    assert "not a declaration: only the supplier can declare" in text
    assert "L-1 &lt;&amp;&gt;" in text
    ElementTree.fromstring(text)


@pytest.mark.parametrize("alloy", ["SAC305", "Sn-37Pb", "Sn", "Sn-4.123456Ag-0.0001Ge"])
def test_it_reads_back_without_loss(tmp_path, alloy):
    found = made(alloy, Pb="450.5", Cd=2)
    (read,) = read_xml(kept(tmp_path, sheet_xml(found)))
    assert (read.name, read.composition, dict(read.traces), read.notes) == (
        alloy,
        found.composition,
        {"Pb": Fraction("450.5"), "Cd": 2},
        (),
    )


def test_masses_are_one_kilogram_though_a_constituent_was_measured(tmp_path):
    found = made(Ag=450, Pb=1100)
    text = sheet_xml(found)
    grams = [Fraction(e.get("mass")) for e in ElementTree.fromstring(text).iter(f"{{{NAMESPACE}}}Mass")][2:]
    assert sum(grams) == 1000
    assert "measured; 3 wt% nominal" in text
    assert "Sn makes up the rest of the kilogram" in text
    (read,) = read_xml(kept(tmp_path, text))
    assert (read.composition, dict(read.traces)) == (found.composition, {"Ag": 450, "Pb": 1100})


def test_a_mixture_by_thirds_is_read_back_as_written(tmp_path):
    thirds = mixed([(parse("Sn"), 1), (parse("Pb"), 1), (parse("Ag"), 1)])
    found = sheet("thirds", thirds, [context(date(2027, 9, 1))], None, TODAY)
    (read,) = read_xml(kept(tmp_path, sheet_xml(found)))
    assert all(abs(read.composition.wt(element) - wt) < Fraction(1, 10**7) for element, wt in thirds.parts)


def foreign(*substances, name="Solder", version="X8.21", holder="Material"):
    listed = "".join(
        f'<Substance name="{told}"><SubstanceID><EntryID entryIdentity="{cas}"/></SubstanceID>{content}</Substance>'
        for told, cas, content in substances
    )
    inner = f'<Material name="{name}">{listed}</Material>' if holder == "Material" else listed
    return (
        f'<Main xmlns="{NAMESPACE}" schemaDatabaseVersion="{version}"><BusinessInfo mode="Distribution"/>'
        f'<Product unitType="each"><ProductID name="Part 1"/><Composition>'
        f'<DeclarableSubstanceList authority="IEC" identity="IEC 62474" version="D31"/>'
        f'<ProductPart numberOfUnits="1"><ProductID name="Ball"/>{inner}</ProductPart>'
        f"</Composition></Product></Main>"
    )


def percent(value, more=""):
    return f'<MassPercent massPercent="{value}" {more}/>'


def mass(value, unit="mg"):
    return f'<Mass mass="{value}" unitOfMeasure="{unit}"/>'


TIN, SILVER, ROSIN = "7440-31-5", "7440-22-4", "8050-09-7"


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (percent("9.65E1"), percent("3.5")),
        (mass("965", "mg"), mass("0.035", "g")),
        (mass("0.0965", "kg"), mass("3.5", "g")),
        (mass("7", "mg") + percent("96.5"), mass("9", "mg") + percent("3.5")),  # mass percent goes before mass
    ],
)
def test_a_file_of_others_is_read_by_percent_or_by_mass(tmp_path, first, second):
    (read,) = read_xml(kept(tmp_path, foreign(("tin", TIN, first), ("silver", SILVER, second))))
    assert (read.name, str(read.composition), read.traces) == ("Solder", "Sn-3.5Ag", ())


def test_substances_of_a_part_without_material_are_the_part(tmp_path):
    (read,) = read_xml(kept(tmp_path, foreign(("tin", TIN, percent(100)), holder="")))
    assert (read.name, str(read.composition)) == ("Ball", "Sn")


def test_what_was_set_aside_is_said(tmp_path):
    ranged = percent("3.5", 'massPercentRangeMin="3.3" massPercentRangeMax="3.7"')
    text = foreign(("tin", TIN, percent("96.5")), ("silver", SILVER, ranged), version="X7.00")
    (read,) = read_xml(kept(tmp_path, text))
    assert read.notes[0] == "the file says schema X7.00, and was read by X8.21"
    assert "a range from 3.3 to 3.7 is given; the stated 3.5 is taken" in read.notes[1]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("<Main", "is not well-formed XML"),
        ("<Main/>", "is not the root of an IEC 62474 file"),
        (f'<Main xmlns="{NAMESPACE}"/>', "holds no material with substances"),
        ('<!DOCTYPE x [<!ENTITY a "b">]><x>&a;</x>', "a document type or an entity"),
        (foreign(("rosin", ROSIN, percent(100))), "is no element that is known here; got 'rosin', CAS 8050-09-7"),
        (foreign(("tin", "7440-31-6", percent(100))), "no CAS number whose check digit holds"),
        (foreign(("tin", "", percent(100))), "no CAS number"),
        (foreign(("tin", TIN, "")), "has no content"),
        (foreign(("tin", TIN, percent("much"))), "has a massPercent that is no number; got 'much'"),
        (foreign(("tin", TIN, percent("NaN"))), "that is no number"),
        (foreign(("tin", TIN, mass("-1"))), "has a mass below zero"),
        (foreign(("tin", TIN, mass("1", "lb"))), "in no known unit; got 'lb'"),
        (foreign(("tin", TIN, percent(96.5))), "amounts do not add up"),
        (foreign(("tin", TIN, percent(50)), ("tin", TIN, percent(50))), "is given twice"),
        (foreign(("tin", TIN, percent(50)), ("silver", SILVER, mass(1))), "mixes mass and mass percent"),
        (foreign(("tin", TIN, mass(0))), "lies outside the range"),
    ],
)
def test_a_file_that_cannot_be_used_is_refused_in_words(tmp_path, text, told):
    with pytest.raises(InputError) as raised:
        read_xml(kept(tmp_path, text))
    assert told in str(raised.value)


def test_faults_come_together(tmp_path):
    text = foreign(("rosin", ROSIN, percent("much")), ("tin", "1", ""))
    with pytest.raises(InputError) as raised:
        read_xml(kept(tmp_path, text))
    assert len(raised.value.faults) == 4
