"""The composition sheet: what it holds, worked by hand; that text stays text and numbers stay numbers in each file."""

import csv
import io
import json
import re
from datetime import date
from fractions import Fraction
from html.parser import HTMLParser

import openpyxl
import pytest

from selector.compliance.context import Ban, context
from selector.compliance.rulesets import all_rules, rule_sets
from selector.composition import mixed, parse
from selector.errors import InputError
from selector.record.sheet import Certificate, certificate, sheet, written
from selector.record.sheet_files import CSV_COLUMNS, VERDICT_COLUMNS, sheet_csv, sheet_html, sheet_xlsx
from selector.record.sheet_read import read_csv

TODAY = date(2026, 11, 25)
DAY = date(2027, 9, 1)
HOSTILE = ("=1+1", "+1", "-1", "@SUM(A1)", "<script>alert(1)</script>")
WHOLE = Certificate("L-17", "Laboratory of the supplier", "optical emission", date(2026, 10, 1), date(2028, 10, 1))


def asked(**more):
    return context(DAY, **{"markets": ["EU"], "equipment": "consumer", "judged": "joint", **more})


def made(alloy="SAC305", given=None, name="", **more):
    return sheet(name or alloy, parse(alloy), [asked(**more)], given, TODAY)


def verdict(found, rule_id):
    return next(entry for entry in found.findings if entry.rule_id == rule_id)


def test_sac305_by_hand():
    found = made()
    assert [(e.element, e.cas, e.wt_percent, e.ppm, e.basis) for e in found.contents] == [
        ("Sn", "7440-31-5", Fraction("96.5"), 965_000, "nominal"),
        ("Ag", "7440-22-4", 3, 30_000, "nominal"),
        ("Cu", "7440-50-8", Fraction("0.5"), 5_000, "nominal"),
    ]
    assert not found.failing
    assert verdict(found, "EU-ROHS-PB").measured_ppm == 0
    assert "as nominal" in verdict(found, "EU-ROHS-PB").reason
    assert found.headline.startswith("Nothing fails; ")
    assert any("no trace is measured" in text for text in found.cautions)
    assert {d.rule_set for d in found.rule_dates} <= {entry.rule_set for entry in rule_sets()}
    assert {d.rule_set for d in found.rule_dates} == {entry.rule_set for entry in found.findings}
    assert len(found.data_hash) == 16


@pytest.mark.parametrize(("ppm", "outcome", "margin"), [(450, "pass", 550), (1000, "pass", 0), (1100, "fail", -100)])
def test_a_measured_trace_is_used_in_the_verdict(ppm, outcome, margin):
    found = made(traces={"Pb": Fraction(ppm)})
    assert (found.contents[-1].element, found.contents[-1].basis, found.contents[-1].ppm) == ("Pb", "measured", ppm)
    assert found.contents[-1].wt_percent == Fraction(ppm, 10_000)
    lead = verdict(found, "EU-ROHS-PB")
    assert (str(lead.outcome), lead.measured_ppm, lead.margin_ppm) == (outcome, ppm, margin)
    assert found.headline.startswith("Fails EU-ROHS-PB; " if outcome == "fail" else "Nothing fails; ")
    assert not any("no trace is measured" in text for text in found.cautions)


def test_the_headline_says_what_is_over_a_limit_and_open_and_counts_no_flag_as_a_duty():
    found = sheet(
        "SAC305", parse("SAC305"), [context(DAY, markets=["EU"], judged="joint", traces={"Pb": Fraction(1100)})]
    )
    assert found.headline.startswith("Nothing fails for certain; ")
    assert "over the EU RoHS limit by 100 ppm Pb if it is electrical equipment" in found.headline
    assert "flag of supply" in found.headline or "flags of supply" in found.headline
    duties = sum(str(e.outcome) == "duty" and e.duty != "flag" for e in found.told)
    assert f"{duties} with a duty" in found.headline


def test_a_day_out_of_reach_gives_no_verdict():
    found = sheet("SAC305", parse("SAC305"), [context(date(2099, 1, 1), markets=["EU"], judged="joint")])
    assert found.headline.startswith("No verdict; 2099-01-01 lies more than 10 years after ")


def test_a_measured_constituent_hides_no_nominal_one():
    found = made("Sn-37Pb", traces={"Pb": Fraction(800)})
    assert [(e.element, e.basis) for e in found.contents] == [
        ("Sn", "nominal"),
        ("Pb", "nominal"),
        ("Pb", "measured"),
    ]
    told = "Pb is judged as measured and as nominal, the worse answer holds: 800 ppm measured, 370000 nominal"
    assert told in found.cautions
    assert str(verdict(found, "EU-ROHS-PB").outcome) == "fail"


def test_several_contexts_say_each_rule_once():
    contexts = [asked(), asked(markets=["China"])]
    found = sheet("SAC305", parse("SAC305"), contexts, None, TODAY)
    assert len(found.findings) == len(set(found.findings))
    assert {"EU RoHS", "China RoHS"} <= {entry.rule_set for entry in found.findings}


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (WHOLE, None),
        (Certificate("L-17"), "measured contents stand without laboratory, method, day of a certificate"),
        (
            Certificate("L", "X", "Y", date(2025, 1, 1), date(2026, 11, 24)),
            "the certificate expired on 2026-11-24, before this sheet was made on 2026-11-25",
        ),
        (
            Certificate("L", "X", "Y", date(2025, 1, 1), date(2027, 8, 31)),
            "the certificate expires on 2027-08-31, before 2027-09-01, the day asked about",
        ),
        (Certificate("L", "X", "Y", date(2025, 1, 1), DAY), None),
    ],
)
def test_what_is_wrong_with_a_certificate_is_a_caution_in_words(given, told):
    cautions = made(given=given, traces={"Pb": Fraction(450)}).cautions
    assert cautions == () if told is None else any(text.startswith(told) for text in cautions)


def test_a_sheet_with_bans_says_that_it_is_for_that_customer_alone():
    cautions = made(bans=(Ban("Sb", Fraction(1000), "own list"), Ban("Ag", Fraction(10), "cost"))).cautions
    assert "the sheet holds a customer's bans on Sb, Ag: it is for that customer alone" in cautions
    assert not any("customer" in text for text in made().cautions)


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"certified": date(2026, 11, 26)}, "lies in the future"),
        ({"certified": date(2026, 11, 2), "expires": date(2026, 11, 1)}, "lies before the day of the certificate"),
        ({"lot": "a\nb"}, "lot: is not one short line"),
        ({"laboratory": "x" * 201}, "laboratory: is not one short line"),
        ({"method": "\x1b[31m"}, "method: is not one short line"),
    ],
)
def test_a_certificate_that_cannot_be_is_refused(given, told):
    with pytest.raises(InputError, match=told):
        certificate(**given, today=TODAY)


def test_faults_of_a_certificate_come_together():
    with pytest.raises(InputError) as raised:
        certificate("a\nb", "", "", date(2027, 1, 1), date(2026, 1, 1), TODAY)
    assert len(raised.value.faults) == 3


def test_today_and_the_last_day_are_no_faults():
    assert certificate("L", "", "", TODAY, TODAY, TODAY).certified == TODAY


def test_nominal_contents_are_written_so_that_they_add_up():
    thirds = mixed([(parse("Sn"), 1), (parse("Pb"), 1), (parse("Ag"), 1)])
    texts = written(thirds)
    assert sum(map(Fraction, texts.values())) == 100
    assert sorted(texts.values()) == ["33.33333333", "33.33333333", "33.33333334"]
    assert written(parse("SAC305")) == {"Sn": "96.5", "Ag": "3", "Cu": "0.5"}


def hostile(**more):
    given = Certificate(*HOSTILE[:3], date(2026, 10, 1))
    bans = [Ban("Sb", Fraction(1000), HOSTILE[3]), Ban("In", Fraction(1000), HOSTILE[4])]
    return made("Sn-5Sb", given, HOSTILE[0], traces={"Pb": Fraction(450)}, bans=bans, **more)


def table(found):
    return list(csv.DictReader(io.StringIO(sheet_csv(found)), strict=True))


def test_csv_holds_everything_and_no_cell_is_a_formula():
    found = hostile()
    rows = table(found)
    assert set(rows[0]) == set(CSV_COLUMNS)
    assert [row["item"] for row in rows if row["part"] == "verdict"] == [e.rule_id for e in found.findings]
    ids = {rule.id for rule in all_rules() if rule.market in ("EU", "world") and rule.id != "CUST-SB"}
    assert ids - {"CUST-IN"} <= {row["item"] for row in rows if row["part"] == "verdict"}
    numbers = {"wt_percent", "ppm", "measured_ppm", "limit_ppm", "margin_ppm"}
    for row in rows:
        for name, cell in row.items():
            if name in numbers:
                assert not cell or float(cell) == float(cell)
            else:
                assert cell[:1] not in ("=", "+", "-", "@", "\t", "\r"), (name, cell)
    held = {row["item"]: row["value"] for row in rows if row["part"] == "certificate"}
    assert held == {"lot": "'=1+1", "laboratory": "'+1", "method": "'-1", "certified": "2026-10-01", "expires": ""}
    antimony = next(row for row in rows if row["item"] == "CUST-SB")
    assert (antimony["value"], antimony["measured_ppm"], antimony["margin_ppm"]) == ("fail", "50000", "-49000")


def test_xlsx_read_back():
    found = hostile()
    book = openpyxl.load_workbook(io.BytesIO(sheet_xlsx(found)))
    assert book.sheetnames == ["Composition", "Verdicts", "Rule sets"]
    cells = [cell for page in book for row in page.iter_rows() for cell in row if cell.value is not None]
    assert {cell.data_type for cell in cells} == {"s", "n"}
    assert not any(cell.hyperlink for cell in cells)
    assert not [c for c in cells if isinstance(c.value, str) and c.value[:1] in ("=", "+", "-", "@")]
    page = book["Composition"]
    rows = [[cell.value for cell in row] for row in page.iter_rows()]
    at = next(index for index, row in enumerate(rows) if row[0] == "element")
    assert [row[:6] for row in rows[at + 1 : at + 4]] == [
        ["Sn", "tin", "7440-31-5", 95, 950_000, "nominal"],
        ["Sb", "antimony", "7440-36-0", 5, 50_000, "nominal"],
        ["Pb", "lead", "7439-92-1", 0.045, 450, "measured"],
    ]
    verdicts = [[cell.value for cell in row] for row in book["Verdicts"].iter_rows()]
    assert tuple(verdicts[0]) == VERDICT_COLUMNS
    assert len(verdicts) == len(found.findings) + 1
    lead = next(row for row in verdicts if row[0] == "EU-ROHS-PB")
    assert lead[VERDICT_COLUMNS.index("measured_ppm")] == 450
    assert isinstance(lead[VERDICT_COLUMNS.index("margin_ppm")], int | float)
    dates = [[cell.value for cell in row] for row in book["Rule sets"].iter_rows()]
    assert ["EU RoHS", "law", "EU", "2026-11-25"] in dates


class Watcher(HTMLParser):
    """Notes what could fetch or run, and whether every element is closed."""

    def __init__(self):
        super().__init__()
        self.fetching, self.scripts, self.open = [], [], []

    def handle_starttag(self, tag, attrs):
        if tag not in ("meta", "br"):
            self.open.append(tag)
        self.fetching += [(tag, name) for name, _ in attrs if name in ("src", "href") or name.startswith("on")]
        if tag == "script":
            self.scripts.append(dict(attrs).get("type"))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def test_html_fetches_and_runs_nothing_and_escapes_what_was_typed():
    text = sheet_html(hostile())
    watcher = Watcher()
    watcher.feed(text)
    assert not watcher.open
    assert not watcher.fetching
    assert watcher.scripts == ["application/json"]
    assert "default-src 'none'" in text
    assert not re.search(r"url\(|@import", text)
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)" in text


def test_html_says_all_that_an_officer_needs():
    found = made(given=WHOLE, traces={"Pb": Fraction(1100)})
    text = sheet_html(found)
    for told in (
        "not a declaration: only the supplier can declare",
        "Fails EU-ROHS-PB; ",
        '<td>Pb</td><td>lead</td><td class="n">7439-92-1</td><td class="n">0.11</td><td class="n">1100</td>',
        '<td class="n">1100</td><td class="n">1000</td><td class="n">-100</td>',
        f"data {found.data_hash}",
        "EU: placed on market 2027-09-01",
        "Made 2026-11-25",
        "<td>L-17</td>",
        "No legal advice",
        "<td>EU RoHS</td><td>law</td><td>EU</td><td>2026-11-25</td>",
    ):
        assert told in text, told
    assert "not given" not in text
    assert sheet_html(made()).count("not given") == 5  # places to fill in by hand
    block = json.loads(re.search(r'id="sheet">(.*?)</script>', text, re.DOTALL)[1])
    assert block["alloy"] == "SAC305"
    assert block["compliance"]["asked"][0]["traces_ppm"] == {"Pb": "1100"}


def kept(tmp_path, text):
    path = tmp_path / "sheet.csv"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("alloy", ["SAC305", "Sn-37Pb", "Sn-4.123456Ag-0.0001Ge"])
def test_csv_reads_back_without_loss(tmp_path, alloy):
    given = Certificate("=L", "lab, of the supplier", 'a "method"', date(2026, 10, 1), date(2028, 1, 1))
    found = made(alloy, given, traces={"Pb": Fraction("450.5"), "Cd": Fraction(0)})
    read = read_csv(kept(tmp_path, sheet_csv(found)), TODAY)
    assert (read.name, read.composition, read.certificate) == (alloy, found.composition, given)
    assert dict(read.traces) == {"Pb": Fraction("450.5"), "Cd": 0}


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("part,item", "what,item", "has no column part"),
        (",", ";", "has no column"),
        ("content,Ag", "content,Xx", "'Xx'"),
        ("7440-22-4", "7440-50-8", "has a CAS number that is not Ag's"),
        (",3,30000,", ",three,30000,", "wt_percent is not a number"),
        (",3,30000,", ',"3,5",30000,', "wt_percent is not a number"),
        (",3,30000,", ",-3,30000,", "lies outside the range"),
        (",3,30000,", ",3.5,30000,", "amounts do not add up"),
        ("30000,nominal", "30000,guessed", "has no known basis"),
        ("content,Ag,silver,7440-22-4", "content,Sn,tin,7440-31-5", "is given twice"),
        ("certificate,certified,,", "certificate,certified,soon,", "is not a date"),
        ("certificate,certified,,", "certificate,certified,2031-01-01,", "lies in the future"),
        ("content,", "contents,", "holds no row of part `content`"),
        ("content,Ag,", "content,Ag,1,2,3,4,5,6,7,8,9,0,1,2,3,4,5,6,7,8,9,", "has more cells than the heading"),
        ("sheet,verdicts,", 'sheet,verdicts,"', "is not valid CSV"),
    ],
)
def test_a_sheet_that_was_spoilt_is_refused_in_words(tmp_path, old, new, told):
    text = sheet_csv(made())
    assert old in text
    with pytest.raises(InputError, match=re.escape(told)):
        read_csv(kept(tmp_path, text.replace(old, new)), TODAY)


def test_faults_of_a_sheet_come_together(tmp_path):
    text = sheet_csv(made()).replace("content,Ag", "content,Xx").replace("5000,nominal", "5000,guessed")
    with pytest.raises(InputError) as raised:
        read_csv(kept(tmp_path, text), TODAY)
    assert len(raised.value.faults) >= 3
