"""`comply` and `rules`: the same findings as the functions give, as table, JSON and CSV, and an exit code."""

import csv
import io
import json

import pytest

from selector.compliance.evaluation import BAN_SET
from selector.compliance.rulesets import all_rules, rule_sets

KEYS = [
    "alloy",
    "rule_id",
    "rule_set",
    "outcome",
    "measured_ppm",
    "limit_ppm",
    "margin_ppm",
    "exemption",
    "reason",
    "source",
    "next_change",
]
DAY = ("--on", "2027-09-01")


def asked(run, *arguments):
    done = run("comply", *arguments, "--json")
    assert done.err == ""
    return done.code, json.loads(done.out)


def one(found, rule_id, alloy=None):
    return next(row for row in found if row["rule_id"] == rule_id and alloy in (None, row["alloy"]))


def test_json_has_exactly_these_keys_and_every_rule_of_the_markets(run):
    _, found = asked(run, "SAC305", "--market", "EU,CN,US-CA", *DAY)
    assert all(list(row) == KEYS for row in found)
    markets = {"EU", "China", "California", "US", "world"}
    assert [row["rule_id"] for row in found] == [rule.id for rule in all_rules() if rule.market in markets]


def test_the_example_of_the_readme_runs(run):
    code, found = asked(
        run, "SAC305", "--market", "EU,CN,US-CA", "--on", "2027-07-01", "--use", "wrist-worn,public-sale", "--as",
        "joint", "--trace", "Pb=450ppm",
    )  # fmt: skip
    assert code == 0
    assert one(found, "EU-ROHS-PB")["measured_ppm"] == 450
    assert one(found, "EU-REACH-17-63-JEWEL")["margin_ppm"] == 50


@pytest.mark.parametrize(
    ("alloy", "options", "code"),
    [
        ("SAC305", (), 0),
        ("Sn63Pb37", (), 1),
        ("Sn63Pb37", ("--equipment", "space"), 0),
        ("SAC305", ("--trace", "Pb=1000ppm"), 0),
        ("SAC305", ("--trace", "Pb=1001ppm"), 1),
        ("Sn-5Sb", ("--ban", "Sb=1000ppm"), 1),
        ("Sn-5Sb", (), 0),
        # An exemption that fits saves it, though other entries do not fit.
        ("Pb95Sn5", ("--joint", "die attach", "--figure", "current_a=5"), 0),
        ("Pb95Sn5", ("--joint", "board joint"), 0),  # open: the generic entry is past its day
    ],
)
def test_exit_code(run, alloy, options, code):
    base = {"--market": "EU", "--on": "2027-09-01", "--as": "joint", "--equipment": "consumer"}
    base.update(zip(options[::2], options[1::2], strict=True))
    assert run("comply", alloy, *(word for pair in base.items() for word in pair)).code == code


def test_the_table_says_what_fails_both_days_and_that_it_is_no_advice(run):
    done = run("comply", "SAC305", "Sn63Pb37", "--market", "EU", *DAY, "--as", "joint", "--equipment", "consumer")
    assert "Fails: Sn63Pb37." in done.out
    assert "As of 2027-09-01, under the rules as known on" in done.out
    assert "2026-11-25" in done.out
    assert "No legal advice" in done.out
    assert "-369000 ppm" in done.out
    assert "EU-ROHS-X-7B" not in done.out
    assert "EU-ROHS-X-7B" in run("comply", "Sn63Pb37", "--market", "EU", *DAY, "--all").out


def test_the_default_table_tells_what_decides_and_folds_the_rest(run):
    done = run("comply", "SAC305", "Pb95Sn5", "--market", "EU,CN", *DAY, "--as", "joint", "--equipment", "consumer")
    lines = done.out.splitlines()
    assert lines[0] == (
        "1 of 2 alloys passes everywhere on 2027-09-01 in China and EU; 1 is open, over a limit unless the use or"
        " evidence says otherwise: Pb95Sn5."
    )
    assert len(lines) < 45
    assert len(run("comply", "SAC305", "Pb95Sn5", "--market", "EU,CN", *DAY, "--all").out.splitlines()) > 400
    held = next(line for line in lines if line.startswith("SAC305") and "China RoHS" in line)
    assert "China RoHS, EU REACH, EU RoHS" in held
    assert "✓ holds, +1000 ppm Pb" in held
    assert not [line for line in lines if line.startswith("SAC305") and "batteries" in line]
    assert "? open: portable battery?" in done.out
    assert "portable-battery (1)" in done.out
    assert "--all prints every one." in done.out


def test_csv_has_a_row_a_rule_with_both_days(run):
    done = run("comply", "SAC305", "--market", "EU", *DAY, "--csv")
    rows = list(csv.DictReader(io.StringIO(done.out)))
    assert len(rows) == len([rule for rule in all_rules() if rule.market in ("EU", "world")])
    assert {row["as_of"] for row in rows} == {"2027-09-01"}
    assert all(row["known_to"] for row in rows)
    assert {row["kind"] for row in rows} == {"law", "quality", "supply-risk", "customer", "information"}


def test_a_brief_gives_markets_days_use_and_bans(run):
    _, found = asked(run, "SAC305", "Sn-37Pb", "--brief", "skin-patch")
    sets = {row["rule_set"] for row in found}
    assert {"EU RoHS", "China RoHS", "US federal"} <= sets
    assert one(found, "EU-ROHS-PB", "Sn-37Pb")["outcome"] == "fail"
    _, only = asked(run, "SAC305", "--brief", "skin-patch", "--market", "EU")
    assert not [row for row in only if row["rule_set"] == "China RoHS"]
    _, later = asked(run, "Pb95Sn5", "--brief", "river-logger", "--on", "2028-01-01", "--joint", "die attach")
    assert "2027-12-31" in one(later, "EU-ROHS-PB")["reason"]


def test_the_three_questions_of_the_issue(run):
    base = ("--market", "EU,CN", "--on", "2027-09-15", "--as", "joint", "--equipment", "consumer")
    _, found = asked(run, "SAC305", "Sn-58Bi", "Sn63Pb37", *base)
    failing = {row["alloy"] for row in found if row["outcome"] == "fail" and "-X-" not in row["rule_id"]}
    assert failing == {"Sn63Pb37"}
    _, found = asked(
        run, "Pb95Sn5", "--market", "EU", "--on", "2028-03-01", "--as", "joint", "--equipment", "other electrical",
        "--joint", "die attach", "--figure", "current_a=1",
    )  # fmt: skip
    lead = one(found, "EU-ROHS-PB")
    assert lead["outcome"] == "unknown"
    assert "past its date 2027-12-31" in lead["reason"] or "past its date 2027-06-30" in lead["reason"]
    assert lead["exemption"] is None


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("SAC305",), "--on: is missing"),
        (("SAC305", "--on", "soon"), "'soon'"),
        (("SAC3O5", *DAY), "SAC3O5"),
        (("SAC305", *DAY, "--market", "Mars"), "'Mars'"),
        (("SAC305", *DAY, "--use", "worn"), "'worn'"),
        (("SAC305", *DAY, "--as", "idea"), "'idea'"),
        (
            ("SAC305", *DAY, "--trace", "Pb=450"),
            "--trace Pb=450: has no unit; got '450'; allowed: 450ppm, which is 0.045%",
        ),
        (("SAC305", *DAY, "--trace", "Xx=450ppm"), "'Xx'"),
        (("SAC305", *DAY, "--trace", "Pb=manyppm"), "'manyppm'"),
        (("SAC305", *DAY, "--trace", "Pb=1,100ppm"), "has a comma"),
        (("SAC305", *DAY, "--trace", "Pb=1100000ppm"), "lies outside the range"),
        (
            ("SAC305", *DAY, "--trace", "Pb=1ppm", "--trace", "lead=2ppm"),
            "names an element for the second time; got Pb",
        ),
        (("SAC305", *DAY, "--trace", "Pb=60%", "--trace", "Sb=50%"), "add up to more than the whole"),
        (("SAC305", *DAY, "--ban", "Sb=1000"), "1000ppm, which is 0.1%"),
        (("SAC305", *DAY, "--market", "Mars"), "CN (China)"),
        (("x.xlsx", *DAY), "only the CSV or XML of a sheet can be read"),
        (("SAC305", *DAY, "--onset-at-least", "hot"), "--onset-at-least: is not a temperature"),
        (("SAC305", *DAY, "--onset-at-least", "4000"), "--onset-at-least: lies outside the range"),
        (("SAC305", *DAY, "--ban", "Sb"), "--ban: cannot be read"),
        (("SAC305", *DAY, "--ban", "Sb=-5ppm"), "--ban Sb=-5ppm: lies outside the range"),
        (
            ("SAC305", *DAY, "--ban", "Sb=5ppm", "--ban", "Sb=5000ppm"),
            "--ban Sb=5000ppm: names an element for the second time",
        ),
        (
            ("SAC305", *DAY, "--trace", "Pb=2000ppm", "--trace", "Pb=450ppm"),
            "--trace Pb=450ppm: names an element for the second time",
        ),
        (("SAC305", *DAY, "--figure", "flux_percent=150"), "flux_percent: leaves no metal"),
        (("SAC305", *DAY, "--figure", "mood=3"), "'mood'"),
        (("SAC305", *DAY, "--joint", "jam"), "'jam'"),
        (("SAC305", "--brief", "motor-drive", "--market", "JP"), "names none of the markets"),
    ],
)
def test_a_fault_is_told_and_ends_with_two(run, arguments, told):
    done = run("comply", *arguments)
    assert done.code == 2
    assert told in done.err
    assert done.out == ""


def test_faults_come_together(run):
    done = run("comply", "SAC305", "--on", "soon", "--trace", "Pb=450")
    assert "2 faults" in done.err


def test_rules_lists_every_set_with_days_and_sources(run):
    out = run("rules").out
    for found in rule_sets():
        assert found.rule_set.split()[0] in out
    listed = json.loads(run("rules", "--json").out)
    assert sum(len(entry["rules"]) for entry in listed) == len(all_rules())
    assert all(rule["source"] and rule["how_read"] for entry in listed for rule in entry["rules"])


def test_a_joint_is_judged_whole_and_names_what_brings_the_lead(run):
    asked = ("--market", "EU", "--on", "2027-07-01", "--equipment", "consumer", "--json")
    mixed = ("--mass", "1.0mg", "--with", "finish=Sn63Pb37:0.05mg", "--with", "ball=SAC305:0.9mg")
    done = run("comply", "Sn-58Bi", *asked, *mixed)
    assert done.code == 1
    found = {entry["rule_id"]: entry for entry in json.loads(done.out)}
    # 0.05 mg of 37 % lead in 1.95 mg of metal.
    assert found["EU-ROHS-PB"]["measured_ppm"] == pytest.approx(1e6 * 0.05 * 0.37 / 1.95)
    assert found["EU-ROHS-PB"]["outcome"] == "fail"
    assert "finish" in found["EU-ROHS-PB"]["reason"]
    assert found["JOINT-PB-BI-IN"]["outcome"] == "fail"
    assert "lead meets bismuth" in found["JOINT-PB-BI-IN"]["reason"]
    clean = run("comply", "Sn-58Bi", *asked, "--mass", "1.0mg", "--with", "ball=SAC305:0.9mg")
    assert {e["rule_id"]: e["outcome"] for e in json.loads(clean.out)}["JOINT-PB-BI-IN"] == "pass"


def test_every_fault_of_a_joint_is_told_at_once(run):
    done = run(
        *("comply", "Sn-58Bi", "--market", "EU", "--on", "2027-07-01", "--mass", "1.0"),
        *("--with", "finish=Sn63Pb37:0.05", "--with", "a=Xx:-1mg", "--with", "solder=SAC305:1mg"),
        *("--with", "nonsense"),
    )
    assert done.code == 2
    for told in ("--mass", "finish=Sn63Pb37:0.05", "'Xx'", "'solder'", "'nonsense'", "NAME=ALLOY:MASSmg"):
        assert told in done.err, told
    alone = run("comply", "Sn-58Bi", "--market", "EU", "--on", "2027-07-01", "--mass", "1mg")
    assert alone.code == 2
    assert "--with" in alone.err


def test_what_was_measured_is_of_the_solder_and_not_of_its_joint(run):
    asked = ("SAC305", "--market", "EU", "--on", "2027-07-01", "--equipment", "consumer", "--trace", "Pb=900ppm")
    assert run("comply", *asked).code == 0
    done = run("comply", *asked, "--mass", "30mg", "--with", "finish=Sn63Pb37:0.05mg", "--json")
    found = {entry["rule_id"]: entry for entry in json.loads(done.out)}
    assert (done.code, found["EU-ROHS-PB"]["outcome"]) == (1, "fail")
    assert found["EU-ROHS-PB"]["measured_ppm"] == pytest.approx((900 * 30 + 370_000 * 0.05) / 30.05)


def test_a_name_cannot_write_to_the_terminal(run, tmp_path):
    sheet = tmp_path / "sheet.csv"
    assert run("sheet", "SAC305", "-o", sheet, *DAY).code == 0
    text = sheet.read_text(encoding="utf-8").replace("sheet,sheet of,SAC305", "sheet,sheet of,\x1b[31mred")
    sheet.write_text(text, encoding="utf-8")
    done = run("comply", sheet, *DAY)
    assert done.code == 0, done.err
    assert "\\x1b[31mred" in done.out
    assert "\x1b" not in done.out
    joined = run("comply", "SAC305", *DAY, "--mass", "1mg", "--with", "\x1b[31mred=SAC305:1mg")
    assert (joined.code, joined.out) == (2, "")
    assert "\x1b" not in joined.err


def test_markets_and_elements_are_taken_by_name_and_code_in_any_case(run):
    day = ("--on", "2027-09-01", "--equipment", "consumer")
    _, found = asked(run, "SAC305", "--market", "eu,china", *day, "--trace", "lead=0.1%", "--ban", "Antimony=0.1 %")
    assert {"EU RoHS", "China RoHS"} <= {row["rule_set"] for row in found}
    assert one(found, "EU-ROHS-PB")["measured_ppm"] == 1000
    assert any(row["limit_ppm"] == 1000 and "Sb" in row["reason"] for row in found if row["rule_set"] == BAN_SET)


def test_what_is_over_a_limit_and_open_stands_in_the_first_and_the_last_lines(run):
    out = run("comply", "SAC305", "--market", "EU", *DAY, "--trace", "Pb=1100ppm", "--form", "wire").out
    told = " ".join(out.split())
    over = "over the EU RoHS limit by 100 ppm Pb if it is electrical equipment"
    assert over in told.split("Law")[0]
    assert "Nothing fails for certain. Over a limit, and open. SAC305: " in told
    assert "Judged: the finished joint" in told
    assert "--as mixture" in told


@pytest.mark.parametrize(
    ("day", "told"), [("1927-01-01", "before every law known here"), ("2099-01-01", "10 years after")]
)
def test_a_day_out_of_reach_gives_no_verdict(run, day, told):
    out = " ".join(run("comply", "SAC305", "--market", "EU", "--on", day).out.split())
    assert out.startswith(f"No verdict: {day} lies ")
    assert told in out
    assert "passes everywhere" not in out
    assert "Nothing fails." not in out


HIGH_LEAD = ("Pb95Sn5", "--market", "EU", "--on", "2028-03-01", "--equipment", "consumer", "--joint", "die attach")


@pytest.mark.parametrize(
    ("words", "outcome", "reason"),
    [
        ("", "unknown", "a renewal filed in time by 2025-12-30 would keep it alive"),
        ("renewal-filed", "unknown", "alive while the application for renewal is decided: recheck"),
        ("not-renewal-filed", "fail", "ended 2027-12-31: no renewal was filed by 2026-06-30"),
    ],
)
def test_an_exemption_past_its_date_hangs_on_its_renewal(run, words, outcome, reason):
    _, found = asked(run, *HIGH_LEAD, "--figure", "current_a=5", *(("--use", words) if words else ()))
    lead = one(found, "EU-ROHS-PB")
    assert (lead["outcome"], reason in lead["reason"]) == (outcome, True)
    assert lead["outcome"] != "fail" or lead["exemption"] is None


def test_the_whole_catalogue_above_a_remelt_onset(run):
    done = run(
        "comply", "--catalogue", "--market", "EU", *DAY, "--ban", "Sb=1000ppm", "--onset-at-least", "200", "--csv"
    )
    named = {row["alloy"] for row in csv.DictReader(io.StringIO(done.out))}
    assert {"SAC305", "Sn-5Sb", "Pb-10Sn-2Ag"} <= named  # the last straddles 200
    assert not {"Bi-42Sn", "Sn-37Pb"} & named
    assert "Remelt onset of at least 200 degC: " in done.err
    assert "Pb-10Sn-2Ag" in done.err
