"""How sure, and what Shortlist and Brief say of the weighing: bands, firmness, drafts, stale weights."""

import json

import pytest
from test_pages import alloys_in, opened, said, turned

from selector.brief import dumps, loads, read, shipped
from selector.decision import decide, second_opinions
from selector.record.robustness_words import FOLDED, challengers, companion, overturn_lines, sentence, split
from selector.robustness import robustness
from selector.ui.views.anchors import points_read, points_text

BRIEF = "motor-drive"


@pytest.fixture(scope="module")
def decision():
    return decide(read(shipped(BRIEF)))


@pytest.fixture(scope="module")
def found(decision):
    return robustness(decision)


@pytest.fixture(scope="module")
def page():
    """The page as it opens; not to be changed."""
    return opened("how_sure", brief=BRIEF)


def table(test, column):
    """Return the plain table that has this column, without marks of escape."""
    frames = [each.value for each in test.table if column in each.value.columns]
    assert len(frames) == 1
    frame = frames[0].map(lambda cell: str(cell).replace("\\", ""))
    frame.index = [str(name).replace("\\", "") for name in frame.index]
    return frame.rename(columns=lambda name: name.replace("\\", ""))


def grid(test, column):
    """Return the grid that has this column."""
    return next(each.value for each in test.dataframe if column in each.value.columns)


def test_it_says_the_sentence_every_challenger_and_every_smallest_change(page, found):
    text = said(page)
    assert sentence(found) in text
    lines = [*challengers(found), *overturn_lines(found)]
    assert len(lines) > len(found.contenders)
    assert [line for line in lines if f"- {line}" not in text] == []
    charts = page.get("vega_lite_chart")
    assert len(charts) == 2
    assert all(len(chart.proto.alt) > 20 for chart in charts)


def test_only_who_is_hardly_ever_first_is_folded_away_under_a_true_label(page, found):
    often, seldom = split(found)
    assert [each.label for each in page.expander if "more:" in each.label] == [f"{len(seldom)} more: {FOLDED}"]
    text = said(page)
    assert [text.index(f"- {line}") for line in often] == sorted(text.index(f"- {line}") for line in often)
    assert companion(found) in text


def test_another_knowledge_and_fewer_draws_answer_anew(decision):
    test = opened("how_sure", brief=BRIEF)
    test.radio(key="knowledge").set_value("stated")
    test.number_input(key="draws").set_value(1000).run()
    assert sentence(robustness(decision, "stated", 1000)) in said(test)
    turned(turned(test, "brief"), "how_sure")
    assert test.radio(key="knowledge").value == "stated"


def test_the_order_without_each_criterion(page, decision):
    shown = table(page, "then leads")
    shares = decision.admitted[0].shares
    assert len(shown) == len(shares)
    leader = decision.admitted[0].alloy.id
    for j, row in enumerate(shown.itertuples(index=False)):
        # By hand: what is left of each score, without its own criterion; the rest's common factor changes no order.
        left = {
            entry.alloy.id: entry.score_low - entry.shares[j].weight * entry.shares[j].worth_low
            for entry in decision.admitted
        }
        best = max(left, key=left.get)
        assert row[1] == ("as now" if best == leader else best)
        assert int(row[3]) == 1 + sum(score > left[leader] + 1e-9 for score in left.values())
    assert shown.loc["Thermal cycling", "then leads"] != "as now"


def test_second_opinions_say_who_is_left_out_and_where_they_part(decision):
    test = opened("how_sure", brief=BRIEF)
    test.toggle(key="opinions").set_value(True).run()
    assert not test.exception
    panel, text = second_opinions(decision), said(test)
    shown = grid(test, "our place")
    assert list(shown.columns[2:]) == ["TOPSIS", "VIKOR", "PROMETHEE II", "SPOTIS", "Geometric value"]
    assert list(shown["our place"]) == [1, 2, 3, 4]
    assert f"They cover {13 - len(panel.left_out)} of 13 admitted alloys" in text
    assert f"Other methods cannot speak of {decision.admitted[0].alloy.id}." in text
    assert all(parting.text in text for parting in panel.partings)
    assert panel.not_asked in text
    assert "thermal_cycling" not in text


def test_the_spread_of_the_list_is_a_description_and_says_so():
    test = opened("how_sure", brief="skin-patch")
    assert not [each for each in test.table if "CRITIC, %" in each.value.columns]
    test.toggle(key="described").set_value(True).run()
    assert not test.exception
    assert "not an importance" in said(test)
    critic = table(test, "CRITIC, %")["CRITIC, %"].astype(float)
    assert critic.sum() == pytest.approx(100, abs=0.5)
    assert "Rank correlation of the criteria" in said(test)


# what Shortlist says of it


def test_the_shortlist_says_that_the_first_place_is_not_firm_and_leads_to_the_answer(found):
    test = opened(brief=BRIEF)
    assert f"Not firm: knowing only the order of the weights (preset class-3), {found.leader} is first in 46." in said(
        test
    )
    assert [each.proto.page for each in test.get("page_link")] == ["how_sure"]


def test_bands_of_ties_and_the_column_beside_them():
    test = opened(brief="skin-patch")
    admitted = decide(read(shipped("skin-patch"))).admitted
    shown = grid(test, "cannot be told from")
    for entry, told in zip(admitted, shown["cannot be told from"], strict=True):
        meets = [
            other.alloy.id
            for other in admitted
            if other is not entry and other.score_low <= entry.score_high and entry.score_low <= other.score_high
        ]
        assert told == f"{len(meets)}: {', '.join(meets)}"
    chart = test.get("vega_lite_chart")[3].proto
    assert chart.alt.startswith("Bands of ties: band 1: Bi-42Sn-1Ag, Bi-42Sn-0.4Ag, Bi-42Sn; band 2: Bi-42Sn, Sn-47Bi;")
    assert alloys_in(test, 3) == {entry.alloy.id for entry in admitted}
    assert json.loads(chart.spec)["layer"][1]["encoding"]["y"]["scale"]["domain"][0] == "Bi-42Sn-1Ag"


# anchors and weights on the page Brief


def anchored(test, criterion, typed=None, author="process", reason="seen on our line"):
    test.selectbox(key="anchor:0").set_value(criterion).run()
    test.text_input(key="anchor_author:0").set_value(author)
    if typed is not None:
        next(each for each in test.text_input if each.label.startswith("Anchors")).set_value(typed)
    next(each for each in test.text_input if each.label == "Reason").set_value(reason)
    return test


def press(test, key):
    test.button(key=key).click().run()
    assert not test.exception
    return test


def warned(test):
    return " ".join(each.value for each in test.warning).replace("\\", "")


def test_a_moved_anchor_makes_its_weight_stale_until_somebody_confirms_it():
    test = opened("brief", brief=BRIEF)
    assert "Stale" not in warned(test)
    press(anchored(test, "pasty_range_k", "0: 100, 10: 70, 25: 0"), "move_anchor")
    assert test.session_state["case"].brief.preferences[1].points == ((0, 100), (10, 70), (25, 0))
    assert "Stale" not in warned(test)  # a bent curve leaves the step, and so the weight, as it was
    press(anchored(test, "pasty_range_k", "0: 100, 30: 0"), "move_anchor")
    told = (
        "Stale weight. Pasty range: 20 swing points were given for the step 25 to 0; the anchors now make it 30 to 0."
    )
    assert told in warned(test)
    shown = table(test, "swing points")
    assert shown.loc["Pasty range from 30 K to 0 K", "mark"] == "stale weight"
    assert shown.loc["Pasty range from 30 K to 0 K", "reason"] == "seen on our line"
    assert "Weighed by the brief's own preferences" in said(test)
    assert told in warned(turned(test, "shortlist"))
    turned(test, "brief")
    anchored(test, "pasty_range_k")
    next(each for each in test.number_input if each.label.startswith("Swing points")).set_value(30.0)
    press(test, "confirm_weight")
    assert "Stale" not in warned(test)
    assert table(test, "swing points").loc["Pasty range from 30 K to 0 K", "swing points"] == "30"
    assert "30.0" not in str(dict(test.query_params))
    kept = test.session_state["case"].brief
    assert loads(dumps(kept)) == kept


def test_anchors_drafted_from_the_list_are_marked_everywhere():
    test = opened("brief", brief=BRIEF)
    press(anchored(test, "relative_cost"), "draft_anchor")
    assert "Draft. Metal cost per cm3: the anchors" in warned(test)
    assert "draft" in " ".join(table(test, "swing points")["mark"])
    for page in ("shortlist", "how_sure"):
        assert "Draft. Metal cost per cm3" in warned(turned(test, page))


def test_anchors_that_cannot_stand_are_told_and_change_nothing():
    test = opened("brief", brief=BRIEF)
    before = test.session_state["case"].raw
    for typed, author, reason, fault in (
        ("0: 100, 30", "process", "why", "cannot be read"),
        ("0: 100, 30: 10", "process", "why", "worths do not span 0 to 100"),
        ("30: 0, 0: 100", "process", "why", "levels do not rise; got '30: 0, 0: 100'; allowed"),
        ("0: 100, 30: 0", " ", "", "author"),
        ("0: 100, nan: 0", "process", "why", "other than finite numbers"),
    ):
        press(anchored(test, "pasty_range_k", typed, author, reason), "move_anchor")
        assert fault in " ".join(each.value for each in test.error).replace("\\", "")
        assert test.session_state["case"].raw == before
    press(anchored(test, "drop", author=" "), "confirm_weight")
    assert "who stands up for it: is empty" in test.error[0].value.replace("\\", "")
    assert test.session_state["case"].raw == before


def test_anchors_read_back_as_they_are_shown():
    points = ((0.0, 0.0), (12.5, 60.0), (25.0, 100.0))
    assert points_text(points) == "0: 0, 12.5: 60, 25: 100"
    assert points_read(points_text(points)) == points
