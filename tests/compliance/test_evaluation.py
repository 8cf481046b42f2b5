"""One rule, one composition, one use, one day: thresholds, days, missing facts and what never changes an answer."""

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selector.compliance.context import JUDGED, Ban, context
from selector.compliance.evaluation import ban_rule, evaluate, evaluate_all
from selector.compliance.finding import Why
from selector.compliance.reach import change_days
from selector.compliance.rulesets import UNCONFIRMED, all_rules, rule
from selector.composition import from_mapping, parse
from selector.verdict import Outcome

NOW = date(2026, 11, 25)
HIGH_LEAD = parse("Pb95Sn5")
FACTS = {"current_a": Fraction(5), "die_edge_mm": Fraction(3), "solder_mg": Fraction(1), "article_mg": Fraction(1)}


def use(on=NOW, *words, **facts):
    facts = {"equipment": "consumer", "judged": "joint", **facts}
    return context(on, words, **facts)


def of(rule_id, alloy, asked):
    return evaluate(rule(rule_id), parse(alloy) if isinstance(alloy, str) else alloy, asked)


def leaded(ppm):
    return from_mapping({"Pb": Fraction(ppm) / 10_000}, balance="Sn")


# Thresholds


@pytest.mark.parametrize(
    ("rule_id", "ppm", "outcome"),
    [
        ("EU-ROHS-PB", 999, "pass"),
        ("EU-ROHS-PB", 1000, "pass"),
        ("EU-ROHS-PB", 1001, "fail"),
        ("EU-ROHS-PB", Fraction(1_000_000_001, 1_000_000), "fail"),
        ("EU-REACH-17-63-JEWEL", 499, "pass"),
        ("EU-REACH-17-63-JEWEL", 500, "fail"),
        ("EU-REACH-SVHC-PB", 1000, "pass"),
        ("EU-REACH-SVHC-PB", 1001, "duty"),
        ("EU-ROHS-X-7A", 850_000, "pass"),
        ("EU-ROHS-X-7A", 849_000, "fail"),
        ("EU-ROHS-PB", 850_000, "pass"),
        ("EU-ROHS-PB", 849_000, "fail"),
    ],
)
def test_the_limit_is_exact(rule_id, ppm, outcome):
    asked = use(NOW, "wrist-worn", "accessible", judged="article", application="die attach", figures=FACTS)
    found = of(rule_id, leaded(ppm), asked)
    assert found.outcome == outcome
    assert found.measured_ppm == Fraction(ppm)
    sign = -1 if found.rule_id != "EU-ROHS-X-7A" else 1
    assert found.margin_ppm == sign * (found.measured_ppm - found.limit_ppm)


def test_seven_hundredths_of_a_per_cent_is_seven_hundred_ppm():
    found = of("JSTD006-PB", "Sn-0.07Pb", use(judged="certificate", declared=["Sn"]))
    assert (found.outcome, found.measured_ppm, found.margin_ppm) == (Outcome.PASS, 700, 0)
    assert 0.07 * 10_000 != 700  # the trap


# Days


def outcomes(alloy, on, **facts):
    asked = use(on, "ce-declared", "china-catalogue", "accessible", application="die attach", figures=FACTS, **facts)
    return {
        entry.id: (found.outcome, found.exemption)
        for entry in all_rules()
        for found in [evaluate(entry, parse(alloy), asked)]
    }


def changed(alloy, before, **facts):
    then, now = outcomes(alloy, before, **facts), outcomes(alloy, before + timedelta(days=1), **facts)
    return {key: (str(then[key][0]), str(now[key][0])) for key in then if then[key] != now[key]}


SUBS = {f"EU-ROHS-X-7A-{number}" for number in ("I", "II", "III", "IV", "V", "VI", "VII")}


def test_on_the_first_of_july_2026_the_sub_entries_open_and_nothing_else():
    found = changed("Pb95Sn5", date(2026, 6, 30))
    assert set(found) >= SUBS
    assert found["EU-ROHS-X-7A-I"] == ("not_applicable", "pass")
    assert found["EU-ROHS-X-7A-IV"] == ("not_applicable", "fail")
    # The saving entry, not the outcome, of lead itself becomes the sub-entry; so by the route into Great Britain.
    assert set(found) - SUBS == {"EU-ROHS-PB", "UK-ROHS-PB", "UK-ROHS-CE-ROUTE"}
    assert found["EU-ROHS-PB"] == ("pass", "pass")


def test_after_june_2027_the_generic_entry_lapses():
    found = changed("Pb95Sn5", date(2027, 6, 30))
    assert found == {"EU-ROHS-X-7A": ("pass", "unknown")}
    asked = {day: of("EU-ROHS-PB", HIGH_LEAD, use(day, application="lamp")) for day in
             (date(2027, 6, 30), date(2027, 7, 1), date(2027, 12, 31), date(2028, 1, 1))}  # fmt: skip
    assert [str(found.outcome) for found in asked.values()] == ["pass", "pass", "pass", "unknown"]


def test_after_2027_the_sub_entries_lapse_and_korea_widens():
    found = changed("Pb95Sn5", date(2027, 12, 31))
    assert found == {
        "EU-ROHS-X-7A-I": ("pass", "unknown"),
        "EU-ROHS-PB": ("pass", "unknown"),
        "UK-ROHS-PB": ("pass", "unknown"),
        "UK-ROHS-CE-ROUTE": ("pass", "unknown"),
        "KR-ROHS-PB": ("unknown", "fail"),
    }


def test_on_the_first_of_august_2027_china_changes_its_text_and_no_answer():
    assert changed("Sn-37Pb", date(2027, 7, 31)) == {}
    before, after = (of("CN-ROHS-PB", "Sn-37Pb", use(day, "china-catalogue")) for day in
                     (date(2027, 7, 31), date(2027, 8, 1)))  # fmt: skip
    assert "GB/T 26572-2011" in before.clause
    assert "GB 26572-2025" in after.clause
    assert before.next_change.day == date(2027, 8, 1)
    assert after.next_change is None


def test_a_clean_alloy_changes_on_none_of_these_days():
    for day in (date(2026, 6, 30), date(2027, 6, 30), date(2027, 12, 31), date(2027, 7, 31)):
        assert {key for key in changed("Sn-0.7Cu", day) if not key.startswith("KR-")} == set()


def test_next_change_is_the_day_on_which_the_answer_changes():
    asked = use(application="die attach", figures=FACTS)
    found = of("EU-ROHS-PB", HIGH_LEAD, asked)
    assert (found.exemption, found.exemption_until) == ("III-7(a)-I", date(2027, 12, 31))
    assert found.next_change.day == date(2028, 1, 1)
    assert str(found.next_change).startswith("2028-01-01: unknown")
    assert of("EU-ROHS-PB", HIGH_LEAD, replace(asked, on=found.next_change.day)).outcome is Outcome.UNKNOWN


@pytest.mark.parametrize("kind", ["manufactured", "imported"])
def test_an_earlier_kind_of_day_leaves_open_what_may_still_change(kind):
    asked = use(date(2027, 12, 1), application="die attach", figures=FACTS, date_kind=kind)
    assert of("EU-ROHS-PB", HIGH_LEAD, asked).outcome is Outcome.UNKNOWN
    assert of("EU-ROHS-PB", "SAC305", asked).outcome is Outcome.PASS
    assert of("EU-ROHS-PB", "Sn-37Pb", asked).outcome is Outcome.FAIL


def test_days_by_category():
    def at(day, *words, equipment="medical device"):
        return of("EU-ROHS-PB", "Sn-37Pb", use(day, *words, equipment=equipment, application="board joint")).outcome

    assert at(date(2014, 7, 21)) is Outcome.NOT_APPLICABLE
    assert at(date(2014, 7, 22), "not-in-vitro") is Outcome.FAIL
    assert at(date(2016, 1, 1)) is Outcome.UNKNOWN
    assert at(date(2017, 7, 22), "in-vitro") is Outcome.FAIL
    assert at(date(2019, 7, 21), equipment="other electrical") is Outcome.NOT_APPLICABLE
    assert at(date(2006, 7, 1), equipment="consumer") is Outcome.FAIL


# Exemptions and their conditions


@pytest.mark.parametrize(
    ("rule_id", "application", "figures", "outcome"),
    [
        ("EU-ROHS-X-7A-I", "die attach", {"current_a": "0.1"}, "pass"),
        ("EU-ROHS-X-7A-I", "die attach", {"blocking_v": "10"}, "unknown"),
        ("EU-ROHS-X-7A-I", "die attach", {"blocking_v": "10", "current_a": "0.09", "die_edge_mm": "0.3"}, "fail"),
        ("EU-ROHS-X-7A-I", "board joint", {"current_a": "5"}, "fail"),
        ("EU-ROHS-X-7A-I", "unknown", {"current_a": "5"}, "unknown"),
        ("EU-ROHS-X-7A-II", "die attach", {"attach_w_mk": "36", "attach_ms_m": "4.8", "solidus_c": "268"}, "pass"),
        ("EU-ROHS-X-7A-II", "die attach", {"attach_w_mk": "36", "attach_ms_m": "4.8"}, "unknown"),
        ("EU-ROHS-X-7A-II", "die attach", {"attach_w_mk": "36", "attach_ms_m": "4.7"}, "fail"),
        ("EU-ROHS-X-7A-IV", "ceramic ball-grid array", {}, "pass"),
        ("EU-ROHS-X-7A-IV", "overmoulding", {"overmould_c": "220"}, "fail"),
        ("EU-ROHS-X-7A-IV", "overmoulding", {"overmould_c": "221"}, "pass"),
        ("EU-ROHS-X-7A-IV", "overmoulding", {}, "unknown"),
        ("EU-ROHS-X-7A", "planar capacitor", {}, "fail"),
        ("EU-ROHS-X-7A", "unknown", {}, "unknown"),
        ("EU-ROHS-X-24", "planar capacitor", {}, "unknown"),
        ("EU-ROHS-X-14", "microprocessor pins", {}, "fail"),
    ],
)
def test_conditions_of_an_exemption(rule_id, application, figures, outcome):
    asked = use(application=application, figures={name: Fraction(value) for name, value in figures.items()})
    assert of(rule_id, HIGH_LEAD, asked).outcome == outcome


def test_an_exemption_is_not_needed_within_the_limit():
    found = of("EU-ROHS-X-7A", "SAC305", use())
    assert (found.outcome, found.why) == (Outcome.NOT_APPLICABLE, Why.NOT_NEEDED)


@pytest.mark.parametrize(
    ("words", "outcome"), [(["ce-declared"], "pass"), (["not-ce-declared"], "fail"), ([], "unknown")]
)
def test_the_route_into_great_britain(words, outcome):
    asked = use(NOW, *words, application="die attach", figures=FACTS, markets=["UK"])
    found = of("UK-ROHS-CE-ROUTE", HIGH_LEAD, asked)
    assert found.outcome == outcome
    assert of("UK-ROHS-PB", HIGH_LEAD, asked).outcome == ("pass" if outcome == "pass" else "unknown")


def test_a_catalogue_decides_between_ban_and_mark():
    def china(*words):
        return of("CN-ROHS-PB", "Sn-37Pb", use(NOW, *words))

    assert china("china-catalogue").outcome is Outcome.FAIL
    assert (china("not-china-catalogue").outcome, china("not-china-catalogue").duty) == (
        Outcome.DUTY,
        "mark-and-disclose",
    )
    assert china().outcome is Outcome.UNKNOWN


# Traces, shares and what is judged


def test_a_nominal_composition_is_no_certificate():
    found = of("JSTD006-PB", "SAC305", use(judged="alloy"))
    assert (found.outcome, found.why) == (Outcome.UNKNOWN, Why.CERTIFICATE_NEEDED)
    assert "certificate needed" in found.reason
    measured = use(judged="alloy", traces={"Pb": Fraction(450)})
    assert of("JSTD006-PB", "SAC305", measured).margin_ppm == 250
    assert of("JSTD006-PB", "SAC305", use(judged="alloy", traces={"Pb": Fraction(701)})).outcome is Outcome.FAIL
    assert of("JSTD006-AG", "SAC305", measured).why is Why.NAMED
    assert of("EU-ROHS-PB", "SAC305", replace(measured, judged="joint")).measured_ppm == 450


def test_a_measured_zero_is_a_measurement():
    asked = use(judged="alloy", traces={"Pb": Fraction(0)})
    assert of("JSTD006-PB", "SAC305", asked).outcome is Outcome.PASS


def test_what_a_certificate_does_not_name_is_open():
    asked = use(judged="certificate")
    assert of("JSTD006-NI", "SAC305", asked).why is Why.CERTIFICATE_NEEDED
    assert of("JSTD006-NI", "Sn-0.05Ni", asked).why is Why.CONTEXT_MISSING  # impurity or dopant?


def test_a_duty_on_the_article_needs_its_mass():
    assert of("EU-REACH-SVHC-PB", "Sn-37Pb", use()).outcome is Outcome.UNKNOWN
    masses = {"solder_mg": Fraction(10), "article_mg": Fraction(20_000)}
    found = of("EU-REACH-SVHC-PB", "Sn-37Pb", use(judged="article", figures=masses))
    assert (found.outcome, found.measured_ppm) == (Outcome.PASS, 185)
    absurd = replace(use(judged="article"), figures=(("article_mg", Fraction(2)), ("solder_mg", Fraction(3))))
    assert of("EU-REACH-SVHC-PB", "Sn-37Pb", absurd).outcome is Outcome.UNKNOWN


@pytest.mark.parametrize(
    ("form", "flux", "outcome"),
    [("wire", None, "duty"), ("paste", None, "unknown"), ("paste", 12, "pass"), ("unknown", None, "unknown")],
)
def test_a_label_counts_the_mixture_as_sold(form, flux, outcome):
    figures = {} if flux is None else {"flux_percent": Fraction(flux)}
    assert of("EU-CLP-AG", "SAC305", use(judged="mixture", form=form, figures=figures)).outcome == outcome


@pytest.mark.parametrize(
    ("rule_id", "judged", "outcome"),
    [
        ("EU-ROHS-PB", "mixture", "not_applicable"),
        ("EU-CLP-PB", "joint", "not_applicable"),
        ("JSTD006-PB", "joint", "not_applicable"),
        ("AERO-SNPB-MIN3", "joint", "not_applicable"),
        ("IEC61249-SUM", "alloy", "not_applicable"),
        ("EU-ROHS-CRVI", "alloy", "not_applicable"),
        ("EU-ROHS-PB", "finish", "fail"),
    ],
)
def test_a_rule_counts_on_its_own_basis(rule_id, judged, outcome):
    asked = use(NOW, "lead-finish-contract", judged=judged, form="wire", application="board joint")
    assert of(rule_id, "Sn-37Pb", asked).outcome == outcome


def test_nickel_is_a_rate_of_release_and_bismuth_is_not_restricted():
    worn = use(NOW, "wrist-worn", "accessible")
    assert of("EU-REACH-17-27", "Sn-0.05Ni", worn).why is Why.NOT_A_CONTENT
    assert of("EU-REACH-17-27", "Sn-0.05Ni", use(NOW, "wrist-worn", "not-accessible")).why is Why.OUT_OF_SCOPE
    found = of("EU-ROHS-NOTLISTED-BI", "Sn-58Bi", use())
    assert (found.outcome, found.why) == (Outcome.PASS, Why.NOT_RESTRICTED)


# Customers


def test_a_ban_of_antimony_is_judged_by_element_limit_and_reason():
    asked = use(bans=[Ban("Sb", Fraction(900), "list 7 of the customer")])
    found = [f for f in evaluate_all({"a": parse("Sn-5Sb")}, asked) if f.rule_id == "CUST-SB"]
    assert [(f.outcome, f.limit_ppm, f.margin_ppm, f.kind) for f in found] == [
        (Outcome.FAIL, 900, Fraction(-49_100), "customer")
    ]
    assert "list 7 of the customer" in found[0].reason
    usual = [f for f in evaluate_all({"a": parse("Sn-5Sb")}, use()) if f.rule_id == "CUST-SB"]
    assert [f.why for f in usual] == [Why.OFF]


# What never changes an answer

ELEMENTS = ("Pb", "Cd", "Ag", "Sb", "Bi", "Ni", "In")
contents = st.one_of(
    st.dictionaries(st.sampled_from(ELEMENTS), st.integers(1, 140_000), max_size=4),
    st.integers(840_000, 999_999).map(lambda ppm: {"Pb": ppm}),  # where exemptions begin
)
days = st.dates(date(2004, 1, 1), date(2032, 1, 1))
applications = st.sampled_from(["unknown", "die attach", "board joint", "lamp", "flip chip"])
equipment = st.sampled_from(["consumer", "vehicle", "medical device", "space", "unknown"])
rules = st.sampled_from(all_rules())


def made(parts):
    return from_mapping({e: Fraction(ppm, 10_000) for e, ppm in parts.items()}, balance="Sn")


@settings(deadline=None)
@given(rules, contents, days, applications, equipment)
def test_a_verdict_depends_on_no_rule_outside_its_dates(judged, parts, on, application, kind):
    asked = use(on, application=application, equipment=kind)
    within = [
        entry
        for entry in all_rules()
        if entry.id == judged.id
        or not (
            (entry.starts and entry.starts > on)
            or (
                entry.after_end == "ended"
                and entry.valid_until
                and max([entry.valid_until, *(u.latest or u.day for u in entry.until_by_category)]) < on
            )
        )
    ]
    whole, part = (evaluate(judged, made(parts), asked, rules=among) for among in (None, within))
    assert whole._replace(next_change=None) == part._replace(next_change=None)


@settings(deadline=None, max_examples=40)
@given(contents, days, applications)
def test_a_lapsed_exemption_never_gives_a_pass(parts, on, application):
    asked = use(on, application=application, figures=FACTS)
    for entry in all_rules():
        found = evaluate(entry, made(parts), asked)
        if found.exemption:
            assert found.outcome is Outcome.PASS
            assert found.exemption_until is None or found.exemption_until >= on


@settings(deadline=None)
@given(rules, contents, st.sampled_from(ELEMENTS))
def test_an_element_of_no_content_changes_nothing(judged, parts, element):
    plain = made(parts)
    with_zero = replace(plain, parts=(*plain.parts, (element, Fraction(0)))) if element not in parts else plain
    asked = use(judged="alloy", declared=["Sn", *parts])
    assert evaluate(judged, with_zero, asked, "a") == evaluate(judged, plain, asked, "a")


@settings(deadline=None)
@given(
    st.sampled_from([r for r in all_rules() if r.test in ("max", "below") and r.elements]),
    st.integers(0, 849_999),
    st.integers(0, 849_999),
    days,
    equipment,
    st.sampled_from(["joint", "article", "mixture", "certificate", "alloy"]),
)
def test_more_of_an_element_never_turns_a_fail_into_a_pass(judged, one, other, on, kind, what):
    """Under 85 %, where the exemption for much lead begins."""
    less, more = sorted((one, other))
    balance = "Sn" if judged.elements[0] != "Sn" else "Cu"
    asked = use(on, equipment=kind, judged=what, form="wire", declared=[balance], customer=[judged.id])
    if judged.elements[0] not in ("Be", "Br", "Cl"):
        then, now = (
            evaluate(
                judged,
                from_mapping({judged.elements[0]: Fraction(ppm) / 10_000} if ppm else {}, balance=balance),
                asked,
            )
            for ppm in (less, more)
        )
        assert not (then.outcome is Outcome.FAIL and now.outcome is not Outcome.FAIL)
        assert (
            not (then.outcome is not Outcome.PASS and now.outcome is Outcome.PASS) or then.why is Why.CERTIFICATE_NEEDED
        )


WORSE = (Outcome.PASS, Outcome.DUTY, Outcome.UNKNOWN, Outcome.FAIL)


@settings(deadline=None)
@given(
    st.sampled_from([r for r in all_rules() if r.limit_ppm is not None and r.test != "min"]),
    contents,
    st.integers(0, 200_000),
    equipment,
)
def test_a_stricter_limit_never_turns_a_fail_into_a_pass(judged, parts, limit, kind):
    strict, loose = sorted((Fraction(limit), judged.limit_ppm))
    asked = use(equipment=kind)
    stricter, looser = (
        evaluate(judged.model_copy(update={"limit_ppm": each}), made(parts), asked).outcome for each in (strict, loose)
    )
    if Outcome.NOT_APPLICABLE not in (stricter, looser):
        assert WORSE.index(stricter) >= WORSE.index(looser)


@settings(deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 10_000), contents)
def test_a_stricter_ban_never_turns_a_fail_into_a_pass(one, other, parts):
    strict, loose = sorted((one, other))
    stricter, looser = (
        evaluate(ban_rule("Pb", Fraction(limit), "r"), made(parts), use(customer=["CUST-PB"])).outcome
        for limit in (strict, loose)
    )
    assert WORSE.index(stricter) >= WORSE.index(looser)


@settings(deadline=None)
@given(contents, days)
def test_an_unconfirmed_rule_gives_neither_pass_nor_duty(parts, on):
    asked = use(on, judged="certificate", declared=["Sn"], traces={e: Fraction(p) for e, p in parts.items()})
    for entry in all_rules():
        if entry.confidence in UNCONFIRMED:
            found = evaluate(entry, made(parts), asked)
            assert found.outcome in (Outcome.FAIL, Outcome.UNKNOWN, Outcome.NOT_APPLICABLE), found


@settings(deadline=None, max_examples=25)
@given(st.lists(contents, min_size=1, max_size=4), days)
def test_many_alloys_at_once_get_the_answers_of_one_alone(many, on):
    asked = use(on, application="die attach", figures=FACTS)
    alloys = {f"alloy {index}": made(parts) for index, parts in enumerate(many)}
    together = evaluate_all(alloys, asked)
    alone = [evaluate(entry, alloy, asked, name) for name, alloy in alloys.items() for entry in all_rules()]
    assert together == alone


@pytest.mark.parametrize("order", [1, -1])
def test_many_at_once_tell_neighbours_at_every_limit_apart(order):
    asked = use(application="die attach", figures=FACTS)
    limits = sorted({entry.limit_ppm for entry in all_rules() if "Pb" in entry.elements and entry.limit_ppm})
    alloys = {f"{ppm} ppm": leaded(ppm) for limit in limits for ppm in (limit - 1, limit, limit + 1)}
    alloys = dict(list(alloys.items())[::order])
    alone = [evaluate(entry, alloy, asked, name) for name, alloy in alloys.items() for entry in all_rules()]
    assert evaluate_all(alloys, asked) == alone


def test_every_rule_that_changes_says_on_which_days():
    assert date(2028, 1, 1) in change_days(rule("EU-ROHS-X-7A-I"))
    assert date(2028, 1, 1) in change_days(rule("KR-ROHS-PB"))
    assert date(2027, 8, 1) in change_days(rule("CN-ROHS-PB"))


# Contexts


@pytest.mark.parametrize(
    ("words", "facts", "told"),
    [
        (["wrist-wron"], {}, "'wrist-wron'"),
        (["toy", "not-toy"], {}, "is said and denied"),
        (["space", "medical"], {"equipment": "unknown"}, "more than one kind"),
        ([], {"equipment": "gadget"}, "'gadget'"),
        ([], {"application": "jam"}, "'jam'"),
        ([], {"form": "foam"}, "'foam'"),
        ([], {"judged": "idea"}, "'idea'"),
        ([], {"date_kind": "dreamt"}, "'dreamt'"),
        ([], {"markets": ["Mars"]}, "'Mars'"),
        ([], {"figures": {"mood": Fraction(1)}}, "'mood'"),
        ([], {"figures": {"current_a": Fraction(-1)}}, "current_a: lies outside the range"),
        ([], {"figures": {"current_a": Fraction(10) ** 400}}, "current_a: lies outside the range"),
        ([], {"figures": {"flux_percent": Fraction(100)}}, "flux_percent: leaves no metal"),
        ([], {"figures": {"solder_mg": Fraction(5), "article_mg": Fraction(1)}}, "solder_mg: is more than article_mg"),
        ([], {"figures": {"solder_mg": Fraction(5), "battery_mg": Fraction(4)}}, "solder_mg: is more than battery_mg"),
        ([], {"traces": {"Pb": Fraction(-1)}}, "measured content, Pb: lies outside the range"),
        ([], {"traces": {"Pb": Fraction(1_000_001)}}, "measured content, Pb: lies outside the range"),
        ([], {"traces": {"Xx": Fraction(1)}}, "measured content: is not of an element"),
        ([], {"bans": [Ban("Sb", Fraction(-5), "why")]}, "limit of a ban, Sb: lies outside the range"),
        ([], {"bans": [Ban("Xx", Fraction(5), "why")]}, "limit of a ban: is not of an element"),
        ([], {"bans": [Ban("Sb", Fraction(5), None)]}, "has a reason that is no text"),
        ([], {"bans": [Ban("Sb", Fraction(5), "a"), Ban("Sb", Fraction(9), "b")]}, "for the second time"),
    ],
)
def test_a_faulty_use_is_told(words, facts, told):
    with pytest.raises(ValueError, match=told.replace("(", r"\(")):
        use(NOW, *words, **facts)


def test_faults_of_a_use_come_together():
    with pytest.raises(ValueError, match="2 faults"):
        use(NOW, "x", form="foam")


@pytest.mark.parametrize("judged", JUDGED)
def test_a_ban_in_figures_holds_whatever_is_judged(judged):
    asked = use(NOW, judged=judged, bans=[Ban("Sb", Fraction(1000), "customer's own list")])
    ban = next(f for f in evaluate_all({"Sn-5Sb": parse("Sn-5Sb")}, asked) if f.rule_id == "CUST-SB")
    assert (ban.outcome, ban.measured_ppm, ban.limit_ppm) == (Outcome.FAIL, 50_000, 1000)
