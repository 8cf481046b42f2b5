"""Every rule file is whole: read by the schema, in the folder of its kind, with nothing that a rule must not lack."""

import re
from datetime import date

import pytest

from selector.catalogue import load
from selector.compliance.rulesets import (
    EXEMPTING,
    WITH_LIMIT,
    all_rules,
    read_rule_set,
    rule,
    rule_sets,
)
from selector.datafiles import data_folder
from selector.errors import InputError

FILES = sorted(path for path in (data_folder() / "rules").rglob("*.toml") if path.name != "practice.toml")
HEAD = """
rule_set = "S"
kind = "law"
market = "EU"
jurisdiction = "EU"
instrument = "I"
date_kind = "placed on market"
known_to = 2026-11-25
"""
RULE = """
[[rule]]
id = "R-1"
clause = "c"
substance = "lead"
elements = ["Pb"]
limit_ppm = 1000
test = "max"
basis = "homogeneous material"
effect = "restrict"
source = "s"
how_read = "read"
read = "read"
confidence = "high"
"""


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_a_file_is_read_and_lies_in_the_folder_of_its_kind(path):
    found = read_rule_set(path)
    assert found.kind == path.parent.name
    assert found.rules
    for entry in found.rules:
        assert entry.source, entry.id
        assert entry.how_read, entry.id
        assert entry.known_to <= found.known_to, entry.id
        assert (entry.limit_ppm is not None) or entry.test not in WITH_LIMIT, entry.id
        assert entry.cas == "" or valid_cas(entry.cas), entry.id
        if entry.effect in EXEMPTING:
            assert entry.exemption, entry.id


def valid_cas(number):
    digits = re.fullmatch(r"(\d{2,7})-(\d\d)-(\d)", number)
    body = (digits[1] + digits[2])[::-1]
    return sum((place + 1) * int(digit) for place, digit in enumerate(body)) % 10 == int(digits[3])


def test_every_file_is_loaded_and_no_id_stands_twice():
    assert {found.file for found in rule_sets()} == {f"{path.parent.name}/{path.name}" for path in FILES}
    ids = [entry.id for entry in all_rules()]
    assert len(ids) == len(set(ids)) == 284


def test_the_hash_of_the_data_covers_every_rule_file(monkeypatch, tmp_path):
    import shutil

    from selector import datafiles

    copy = tmp_path / "data"
    shutil.copytree(data_folder(), copy)
    monkeypatch.setattr(datafiles, "data_folder", lambda: copy)
    tables = [path.stem for path in copy.glob("*.csv") if path.name != "melting.csv"]
    before = datafiles.data_hash(copy, tables)
    for path in FILES:
        moved = copy / "rules" / path.parent.name / path.name
        kept = moved.read_text(encoding="utf-8")
        moved.write_text(kept + "# changed\n", encoding="utf-8")
        assert datafiles.data_hash(copy, tables) != before, moved.name
        moved.write_text(kept, encoding="utf-8")
    assert datafiles.data_hash(copy, tables) == before
    assert load().hash


def faults_of(tmp_path, text, folder="law"):
    path = tmp_path / folder / "x.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as raised:
        read_rule_set(path)
    return "\n".join(map(str, raised.value.faults))


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('rule_set = "S"\n', "", "rule_set: is missing"),
        ("known_to", "colour = 1\nknown_to", "colour: is not a field"),
        ('kind = "law"', 'kind = "quality"', "kind: differs from the folder"),
        ('date_kind = "placed on market"', 'date_kind = "sold"', "date_kind"),
        ('market = "EU"', 'market = "Atlantis"', "Atlantis is not one of"),
        ('elements = ["Pb"]', 'elements = ["Xx"]', "'Xx', which is no element symbol"),
        ('elements = ["Pb"]', "elements = []", "names no element"),
        ("limit_ppm = 1000\n", "", "test max needs limit_ppm"),
        ('test = "max"', 'test = "listed"', "limit_ppm has no meaning with test listed"),
        ("limit_ppm = 1000", "limit_ppm = true", "is not a number"),
        ('test = "max"', 'test = "about"', "R-1: test"),
        ('effect = "restrict"', 'effect = "exempt"', "needs its official entry"),
        ('effect = "restrict"', 'effect = "restrict"\nroute_to = "T"', "route_to has no meaning"),
        ('source = "s"\n', "", "source: is missing"),
        ('confidence = "high"', 'confidence = "sure"', "R-1: confidence"),
        ("[[rule]]", "[[role]]", "role: is not a field"),
        (
            'source = "s"',
            'source = "s"\nin_force_from = 2027-01-01\nvalid_until = 2026-01-01',
            "valid_until lies before in_force_from",
        ),
        ('source = "s"', 'source = "s"\nscope = [{ all_of = ["warn-worst"] }]', "'warn-worst'; allowed"),
        ('source = "s"', 'source = "s"\nscope = [{ applications = ["jam"] }]', "'jam'; allowed"),
        ('source = "s"', 'source = "s"\nscope = [{ equipment = "vehicle" }]', "is not a list"),
        ('source = "s"', 'source = "s"\nscope = [{ conditions = [[{ figure = "mood" }]] }]', "figure"),
        ("limit_ppm = 1000", "limit_ppm = nan", "R-1: limit_ppm: is not a number"),
        ("limit_ppm = 1000", "limit_ppm = -5", "R-1: limit_ppm: lies below zero"),
        ("limit_ppm = 1000", 'limit_ppm = "1000"', "R-1: limit_ppm: is not a number; got '1000'"),
        ('elements = ["Pb"]', 'elements = "Pb"', "R-1: elements: is not a list"),
        ('id = "R-1"', "id = 4", "4: id: is not text; got 4; allowed: text in quotes"),
        ('id = "R-1"\n', "", "rule[0]: id: is missing"),
        ('source = "s"', 'source = ""', "R-1: source: is empty"),
        ('how_read = "read"', 'how_read = ""', "R-1: how_read: is empty"),
        ('source = "s"', 'source = "s"\ncas = "7439-92-2"', "R-1: cas: is no CAS number"),
        ('source = "s"', 'source = "s"\ncolour = 1', "R-1: colour: is not a field here; got 1; allowed: id, rule_set"),
        (
            'source = "s"',
            'source = "s"\nin_force_from = "soon"',
            "in_force_from: is not a date; got 'soon'; allowed: a date",
        ),
        ('source = "s"', 'source = "s"\nvalid_until = 2027', "R-1: valid_until: is not a date; got 2027"),
        (
            'source = "s"',
            'source = "s"\noff_by_default = "yes"',
            "off_by_default: is neither true nor false; got 'yes'",
        ),
        ('source = "s"', 'source = "s"\nafter_end = "x"', "allowed: 'recheck' or 'ended'"),
        (
            'basis = "homogeneous material"',
            'basis = "goo"',
            "R-1: basis: is not one of the choices; got 'goo'; allowed: 'article'",
        ),
        ('effect = "restrict"', 'effect = "forbid"', "R-1: effect: is not one of the choices; got 'forbid'"),
        ('source = "s"', 'source = "s"\nscope = 3', "R-1: scope: is not a list; got 3"),
        ('source = "s"', 'source = "s"\nscope = [3]', "R-1: scope[0]: is not a table; got 3"),
        (
            'source = "s"',
            'source = "s"\nscope = [{ colour = 1 }]',
            "scope[0].colour: is not a field here; got 1; allowed: starts",
        ),
        (
            'source = "s"',
            'source = "s"\nscope = [{ equipment = ["boat"] }]',
            "got 'boat'; allowed: 'household appliance'",
        ),
        ('source = "s"', 'source = "s"\nscope = [{ forms = ["foam"] }]', "'foam'; allowed: bar, paste"),
        (
            'source = "s"',
            'source = "s"\nscope = [{ conditions = [[{ figure = "current_a", test = "about", value = 1 }]] }]',
            "scope[0].conditions[0][0].test: is not one of the choices; got 'about'; allowed: 'at_least' or 'above'",
        ),
        (
            'source = "s"',
            'source = "s"\notherwise = { unless = "x", effect = "mark-and-disclose" }',
            "otherwise.unless",
        ),
        (
            'source = "s"',
            'source = "s"\nuntil_by_category = [{ categories = ["99"], day = 2027-01-01 }]',
            "until_by_category[0].categories: holds '99'; allowed: 1, 2",
        ),
        (
            'source = "s"',
            'source = "s"\nfrom_by_category = [{ categories = ["8"], day = 2027-01-01, colour = 1 }]',
            "allowed: categories, day, latest",
        ),
        ("known_to = 2026-11-25\n", "known_to = 2026-11-25\nrule = 3\n#", "rule: is not a list of tables"),
        ("known_to = 2026-11-25\n", "known_to = 2026-11-25\ncommon = 3\n", "common: is not a table; got 3"),
        (
            "known_to = 2026-11-25\n",
            "known_to = 2026-11-25\nedition = [{ starts = 2027-01-01 }]\n",
            "instrument: is missing",
        ),
    ],
)
def test_a_fault_of_a_file_is_told(tmp_path, old, new, told):
    text = HEAD + RULE
    assert old in text
    text = HEAD if "rule = 3" in new else text
    assert told in faults_of(tmp_path, text.replace(old, new, 1))


@pytest.mark.parametrize("field", ["scope", "edition", "common", "rule"])
def test_no_shape_of_a_head_ends_in_a_traceback(tmp_path, field):
    for value in ("3", '"x"', "[1]", '["x"]', "{ a = 1 }", "true", "2027-01-01"):
        head = f"{HEAD}{field} = {value}\n"
        told = faults_of(tmp_path, head if field == "rule" else head + RULE)
        assert told, value


def test_a_message_names_the_file(tmp_path):
    path = tmp_path / "law" / "odd.toml"
    path.parent.mkdir()
    path.write_text(HEAD + RULE.replace('test = "max"', 'test = "about"'), encoding="utf-8")
    with pytest.raises(InputError, match=r"law/odd\.toml"):
        read_rule_set(path)


def test_an_id_given_twice_is_told_and_faults_come_together(tmp_path):
    assert "R-1: stands twice" in faults_of(tmp_path, HEAD + RULE + RULE)
    two = RULE.replace("R-1", "R-2").replace('test = "max"', 'test = "no"')
    told = faults_of(tmp_path, HEAD + RULE.replace('source = "s"\n', "") + two)
    assert "R-1: source" in told
    assert "R-2: test" in told


def test_a_good_file_is_taken(tmp_path):
    path = tmp_path / "law" / "x.toml"
    path.parent.mkdir()
    path.write_text(HEAD + RULE, encoding="utf-8")
    (entry,) = read_rule_set(path).rules
    assert (entry.id, entry.limit_ppm, entry.known_to) == ("R-1", 1000, date(2026, 11, 25))


def test_a_rule_that_is_not_there_is_told():
    with pytest.raises(InputError, match="rule id: is not known"):
        rule("EU-ROHS-XY")
