"""What is said of how sure an order is: every sentence, by hand, and never a "cannot" from a draw."""

import dataclasses
import re

import pytest

from selector.brief import read, shipped
from selector.catalogue import load
from selector.decision import decide
from selector.record.html import decision_html
from selector.record.plain_weighing import plain
from selector.record.robustness_words import (
    band_rows,
    challengers,
    companion,
    contender_rows,
    drawn,
    listed,
    measurement_rows,
    overturn_lines,
    place_texts,
    sentence,
    settling,
    split,
)
from selector.robustness import narrowing, robustness
from selector.weighing_marks import marks

HEADROOM = ("process_headroom_k", ((0.0, 0.0), (20.0, 100.0)), 100.0)
DROP = ("drop", ((0.0, 0.0), (3.0, 100.0)), 50.0)


def test_a_firm_leader_is_called_firm(open_three):
    assert sentence(robustness(open_three, "stated", 1_000)) == (
        "A has the best assured score (lower bound) of 3 admitted alloys, and firmly: knowing the weights as stated"
        " (invented), none of the others can overtake it, whatever the open figures."
    )


def test_an_open_lead_names_rivals_and_who_has_no_hope(three):
    found = robustness(three, "nothing", 20_000)
    assert re.fullmatch(
        r"A has the best assured score \(lower bound\) of 3 admitted alloys, but not firmly: knowing nothing about the"
        r" weights, it is first in 3[78]\.\d % of draws \(standard error 0\.3\), and B and C may stand above it\. C is"
        r" first more often, in 6[12]\.\d % of draws \(standard error 0\.3\)\. B cannot be first under any such"
        r" weights, even with open figures at their best\. No single measurement would narrow its place by much: the"
        r" doubt lies in several figures at once or in the weights\.",
        sentence(found),
    )


def test_a_lone_alloy_has_nothing_to_be_weighed_against(decision_of):
    found = robustness(decision_of({"A": (5.0,)}, [HEADROOM]))
    assert sentence(found) == "A is the only alloy admitted: there is nothing to weigh it against."
    assert (challengers(found), overturn_lines(found)) == ((), ())
    assert [(row["low"], row["high"]) for row in band_rows(found)] == [(100, 100)]
    assert contender_rows(found)[0]["greatest lead"] == "no rival"
    assert plain(found)["contenders"][0]["lead"] is None


def test_every_kind_of_challenger_has_its_sentence(three, open_three, decision_of):
    b, c = challengers(robustness(three, "nothing", 20_000))
    assert b == "B: no such weights put it first, even with open figures at their best (5.0 points short)."
    assert re.fullmatch(
        r"C: some such weights put it first, by up to 55\.0 points; drawn first: 6[12]\.\d % of draws"
        r" \(standard error 0\.3\)\.",
        c,
    )
    assert challengers(robustness(open_three, "stated", 1_000)) == (
        "B: no such weights put it above A, whatever the open figures.",
        "C: no such weights put it above A, whatever the open figures.",
    )
    wide = decision_of({"A": (10.0, 3.0), "B": ((2.0, 18.0), 3.0)}, [HEADROOM, ("drop", ((0, 0), (3, 100)), 50.0)])
    (line,) = challengers(robustness(wide, "stated", 2_000))
    assert line.startswith("B: no such weights put it first as it ranks now (26.7 points short), but they may if open")
    level = decision_of({"A": (10.0, 3.0), "B": (8.0, 3.0)}, [HEADROOM, ("drop", ((0, 0), (3, 100)), 50.0)])
    (line,) = challengers(robustness(level, "nothing", 2_000))
    # All weight on drop: level, and at no weights ahead.
    assert line == "B: no such weights put it above A, whatever the open figures."


def test_twins_are_never_said_to_stand_above_each_other(decision_of):
    found = robustness(decision_of({"A": (10.0,), "B": (10.0,), "C": (2.0,)}, [HEADROOM]), "nothing", 1_000)
    assert [entry.never_above for entry in found.contenders] == [("B", "C"), ("A", "C"), ()]
    assert sentence(found) == (
        "A and B stand level at the head of 3 admitted alloys, and firmly: knowing nothing about the weights, none of"
        " the others can overtake A, whatever the open figures."
    )
    assert overturn_lines(found) == ("B stands level with A already, under the weights as stated.",)


def test_a_weight_that_falls_to_nothing_is_no_less_than_nothing(decision_of):
    found = robustness(decision_of({"A": (5.0, None), "B": (6.0, None)}, [HEADROOM, DROP]), draws=1_000)
    assert "Process headroom 66.7 -> 0.0 %" in overturn_lines(found)[0]


def test_a_share_of_the_first_place_is_told(decision_of):
    drop = ("drop", ((0, 0), (3, 100)), 50.0)
    cost = ("relative_cost", ((0.5, 100.0), (1.5, 0.0)), 20.0)
    rows = {"A": (10.0, 3.0, 1.5), "B": (8.0, 3.0, 1.4), "C": (2.0, 3.0, 0.5)}
    lines = challengers(robustness(decision_of(rows, [HEADROOM, drop, cost]), "nothing", 2_000))
    # B is 10 behind A on headroom and as much ahead on cost, but C is far ahead there.
    assert lines[0].startswith("B: under some such weights it shares the first place with ")


@pytest.mark.parametrize("name", ["motor-drive", "skin-patch"])
def test_no_draw_is_told_as_a_certainty(name):
    found = robustness(decide(read(shipped(name)), load()), "order")
    for row, entry in enumerate(found.contenders):
        text, hits = drawn(found, row), found.chances.first[row] * 10_000
        if hits == 0:
            assert text == "below about 0.030 % of draws"
            assert place_texts(found)[row][0] == ""
        else:
            assert re.fullmatch(r"[\d.]+ % of draws \(standard error [\d.]+\)", text)
            # A draw that hit is never rounded away.
            assert float(text.split()[0]) > 0
        assert "cannot" not in drawn(found, row) + str(contender_rows(found)[row])
        assert contender_rows(found)[row]["alloy"] == entry.alloy


def test_changes_are_told_and_so_is_what_does_nothing(three, decision_of):
    assert overturn_lines(robustness(three, draws=1_000)) == (
        "Weights: 10.5 % of all weight changing hands brings C level (Process headroom 50.0 -> 39.5 %; Metal cost"
        " per cm3 20.0 -> 30.5 %).",
        "One value: 37.0 points of worth, 100 being the whole range from worst to best anchor, bring B level"
        " (Process headroom of A: worth 100.0 -> 63.0, as 20 -> 12.6 K).",
        "One anchor: moving anchor 2 of Process headroom: 20 -> 10.98 K brings B level.",
    )
    drop = ("drop", ((0, 0), (3, 100)), 50.0)
    sure = decision_of({"A": (20.0, 3.0), "B": (0.0, 0.0)}, [HEADROOM, drop])
    assert overturn_lines(robustness(sure, draws=1_000)) == (
        "Weights: none bring a rival level, with figures as they rank now.",
        "One value: none, changed alone, brings a rival level.",
        "One anchor: none of a criterion in numbers, moved alone, brings a rival level.",
    )


def test_settling_names_one_measurement_with_its_effect(open_three):
    found = narrowing(open_three, open_three.admitted[1])
    assert settling(found) == (
        "Measuring Drop shock of C, now 2 (1 to 3), narrows its place most, and settles it in 12 % of outcomes: from"
        " 1 to 0.9 places open on average, with the weights as stated."
    )
    barely = dataclasses.replace(found[0], places_mean=found[0].places_now - 0.09, settles=0.0)
    assert settling([barely]).startswith("No single measurement would narrow its place by much")
    alone = dataclasses.replace(found[0], places_mean=0.5, settles=0.0)
    assert "most, but settles nothing: from 1 to 0.5 places" in settling([alone, found[1]])
    assert "about equal" not in settling([alone, found[1]])
    assert settling([alone, alone]).endswith("; 2 figures are about equal in this.")
    assert settling(()).startswith("No single measurement would narrow its place by much")


def test_a_figure_of_low_grade_that_decides_is_told_with_what_one_level_less_would_do(decision_of):
    cycling = ("thermal_cycling", ((0.0, 0.0), (6.0, 100.0)), 60.0)
    low = decision_of({"A": (10.0, 6.0), "B": (14.0, 5.0)}, [("process_headroom_k", HEADROOM[1], 40.0), cycling])
    rows = [graded(entry, "thermal_cycling", "low") for entry in low.admitted]
    told = companion(robustness(dataclasses.replace(low, admitted=tuple(rows)), draws=1_000))
    # 20 + 60 against 28 + 50: a lead of 2, and one level down costs 10.
    assert told == (
        "Taken as exact although of low grade: Thermal cycling, 1 (best) by practice, carries 60.0 of 80.0 points, and"
        " one level lower loses the lead to B."
    )
    firm = decision_of({"A": (20.0, 6.0), "B": (0.0, 5.0)}, [("process_headroom_k", HEADROOM[1], 40.0), cycling])
    rows = [graded(entry, "process_headroom_k", "low") for entry in firm.admitted]
    # 40 of 100, and 2 K less costs 4 of a lead of 50.
    assert companion(robustness(dataclasses.replace(firm, admitted=tuple(rows)), draws=1_000)) == (
        "Taken as exact although of low grade: Process headroom (K), 20 by practice, carries 40.0 of 100.0 points, and"
        " an error of 2 K, a tenth of its range, does not lose the lead."
    )
    rows = [graded(entry, "process_headroom_k", "high") for entry in firm.admitted]
    assert companion(robustness(dataclasses.replace(firm, admitted=tuple(rows)), draws=1_000)) == ""


def graded(entry, criterion, grade):
    """Return a candidate whose figure on one criterion has another grade, from practice."""
    text = "1" if criterion == "thermal_cycling" else "20"
    shares = tuple(
        dataclasses.replace(share, level=dataclasses.replace(share.level, grade=grade, source="practice", text=text))
        if share.criterion == criterion
        else dataclasses.replace(share, level=dataclasses.replace(share.level, grade="high"))
        for share in entry.shares
    )
    return dataclasses.replace(entry, shares=shares)


@pytest.mark.parametrize("name", ["motor-drive", "skin-patch"])
def test_nobody_who_is_often_first_or_can_lead_is_folded_away(name):
    found = robustness(decide(read(shipped(name)), load()))
    often, seldom = split(found)
    assert sorted((*often, *seldom)) == sorted(challengers(found))
    chances = {entry.alloy: float(share) for entry, share in zip(found.contenders, found.chances.first, strict=True)}
    able = {entry.alloy for entry in found.contenders if entry.can_lead}
    names = [line.partition(":")[0] for line in often]
    assert [chances[name] for name in names] == sorted((chances[name] for name in names), reverse=True)
    folded = [line.partition(":")[0] for line in seldom]
    assert all(chances[name] < 0.01 and name not in able for name in folded)
    assert bool(folded) == (name == "motor-drive")


@pytest.mark.parametrize(
    ("names", "text"),
    [(["A"], "A"), (["A", "B"], "A and B"), (["A", "B", "C"], "A, B and C"), (list("ABCDE"), "A, B, C and 2 more")],
)
def test_names_are_listed(names, text):
    assert listed(names) == text


def test_cells_of_the_chances_round_without_claiming_a_whole(three):
    texts = place_texts(robustness(three, "order", 20_000))
    assert texts[0][0] == "98"
    assert texts[1][0] == ""
    assert {text for row in texts for text in row} <= {"", "<1", ">99", *map(str, range(1, 101))}


# ---- marks ----


def test_what_marks_a_weighing_is_said(decision_of):
    preferences = [HEADROOM, ("pasty_range_k", ((0.0, 100.0), (25.0, 0.0)), 50.0), ("wetting", ((0, 0), (3, 100)), 5.0)]
    decision = decision_of({"A": (25.0, 3.0, 1.0), "B": (8.0, 30.0, 2.0)}, preferences)
    told = marks(decision)
    assert any(
        "Process headroom is preferred, and the ratings" in text and "nobody has said why" in text for text in told
    )
    assert any("Process headroom and Pasty range both rest on the liquidus" in text for text in told)
    assert "Process headroom: of 2 alloys 1 above the highest anchor." in told
    assert "Pasty range: of 2 alloys 1 above the highest anchor." in told
    first = decision.weighing.preferences[0]
    marked = first.model_copy(
        update={"draft": True, "swing_for": ((0.0, 0.0), (40.0, 100.0)), "limit_reason": "the board has hot corners"}
    )
    weighing = type(decision.weighing)("invented", (marked, *decision.weighing.preferences[1:]))
    told = marks(type(decision)(**{**vars(decision), "weighing": weighing}))
    assert told[0] == "Draft. Process headroom: the anchors 0 to 20 are a draft taken from the list."
    assert told[1].startswith("Stale weight. Process headroom: 100 swing points were given for the step 0 to 40;")
    assert not any("nobody has said why" in text for text in told)


# ---- in the record ----


@pytest.fixture(scope="module")
def told():
    decision = decide(read(shipped("skin-patch")), load())
    return robustness(decision), decision_html(decision, load())


def test_the_record_tells_how_sure_the_order_is(told):
    found, page = told
    section = page.split("<h2>How sure the order is</h2>")[1].split("<h2>")[0]
    plain_text = re.sub(r"\s+", " ", section.replace("&#39;", "'").replace("&gt;", ">").replace("&lt;", "<"))
    for line in (sentence(found), *challengers(found), *overturn_lines(found), *marks(found.decision)):
        assert line in plain_text
    for row in measurement_rows(found):
        assert f"<td>{row['measure']}</td>" in section
    assert "10000 draws, seed 1" in section
    assert section.count("<svg") == 1
    assert "Kendall" in section
    assert "TOPSIS" in section


def test_the_chances_in_the_record_leave_what_was_never_drawn_blank(told):
    found, page = told
    table = page.split('<table class="chances">')[1].split("</table>")[0]
    rows = re.findall(r"<tr><td>([^<]*)</td>(.*?)</tr>", table)
    assert [name for name, _ in rows] == [entry.alloy for entry in found.contenders]
    for (_, cells), shares in zip(rows, found.chances.shares, strict=True):
        texts = re.findall(r'<td class="n"(?: style="--share: \d+%")?>([^<]*)</td>', cells)
        assert [bool(text) for text in texts] == [share > 0 for share in shares]
    assert "no proof that it cannot be" in page


def test_the_record_carries_the_same_as_data(told):
    import json

    found, page = told
    block = re.search(r'<script type="application/json" id="decision">(.*?)</script>', page, re.DOTALL).group(1)
    assert json.loads(block)["robustness"] == json.loads(json.dumps(plain(found)))


def test_a_record_without_an_order_has_no_such_section():
    page = decision_html(decide(read(shipped("river-logger")), load()), load())
    assert "How sure the order is" not in page
    assert '"robustness":null' in page
