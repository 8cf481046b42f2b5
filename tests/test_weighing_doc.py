"""The worked example of docs/weighing.md: every number of it computed anew, and none beside those."""

import dataclasses
import re
import textwrap
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from selector.brief import read, shipped
from selector.catalogue import load
from selector.decision import decide
from selector.meeting import Agenda, hold
from selector.robustness import narrowing, region_of, robustness, table
from selector.scoring.optimality import optimality
from selector.scoring.ranking import accumulated
from selector.scoring.weights.answers import KINDS, from_raw, loads

PAGE = (Path(__file__).parents[1] / "docs" / "weighing.md").read_text(encoding="utf-8")
CRITERIA = ("process_headroom_k", "drop", "relative_cost")


def part(heading):
    return " ".join(PAGE.split(f"## {heading}\n")[1].split("\n## ")[0].split())


def g(value):
    return f"{value:.6g}"


def share(first):
    error = 100 * np.sqrt(first * (1 - first) / 10_000)
    return f"{100 * first:.1f} % (standard error {error:.1f})"


def told_of(three, open_three):
    """Yield every sentence of the example with its numbers computed."""
    low, _, weights = table(three)
    scores = accumulated(low, weights)
    found, known = robustness(three, "nothing"), robustness(three, "order")
    by_name = {entry.alloy: entry for entry in found.contenders}
    swings = [f"{entry.swing:g}" for entry in three.weighing.preferences]
    curves = [entry.points for entry in three.weighing.preferences]
    (h0, _), (h1, _) = curves[0]
    yield f"| Process headroom | {h0:g} K | {h1:g} K | {swings[0]} | {100 * weights[0]:.0f} % |"
    middle = [f"{worth:g}" for _, worth in curves[1][1:3]]
    yield f"weak is worth {middle[0]}, fair {middle[1]} | {swings[1]} | {100 * weights[1]:.0f} % |"
    (c1, _), (c0, _) = curves[2]
    yield f"SAC305 = 1 | {c0:g} | {c1:g} | {swings[2]} | {100 * weights[2]:.0f} % |"
    yield "worth 0 at | worth 100 at"
    for i, entry in enumerate(three.admitted):
        k, level, cost = (s.level.value for s in entry.shares)
        drop = ["poor", "weak", "fair", "good"][int(level)]
        worths = ", ".join(g(w) for w in low[i])
        yield f"| {entry.alloy.id} | {k:g} K | {drop} | {cost:g} | {worths} | {g(scores[i])} |"
    terms = " + ".join(f"{w:g} x {v:g}" for w, v in zip(weights, low[0], strict=True))
    yield f"A: {terms} = {g(scores[0])}."
    # At weight 1 the lead over C is 100; at 0 it is that of the others in their ratio.
    rest = (weights[1:] / weights[1:].sum()) @ (low[0] - low[2])[1:]
    yield f"A leads C by {g(low[0, 0] - low[2, 0] - rest)} t - {g(-rest)}, so"
    yield f"keep the others at {weights[1] * 10:g} to {weights[2] * 10:g}."
    one, two, three_ = found.bands
    yield f"first from {100 * one.low:.1f} % upward"
    yield f"drop shock weighs at most {100 * two.high:.1f} % and cost at most {100 * three_.high:.1f} %; beyond"
    assert {one.below, two.above, three_.above} == {"C"}
    to_a, to_c = low[1] - low[0], low[1] - low[2]
    vectors = [f"({', '.join(g(x) for x in v)})" for v in (to_a, to_c, to_a + to_c)]
    yield f"B minus A is {vectors[0]}, B minus C is {vectors[1]}. The two add up to {vectors[2]}, so"
    yield f"one of them by {g(-by_name['B'].lead)} points or more; by just {g(-by_name['B'].lead)} with half"
    assert np.array([0.5, 0, 0.5]) @ to_a == np.array([0.5, 0, 0.5]) @ to_c == pytest.approx(by_name["B"].lead)
    assert by_name["B"].alloy not in by_name["A"].never_above + by_name["C"].never_above
    yield f"A can lead by {g(by_name['A'].lead)} points, all weight on headroom; C by {g(by_name['C'].lead)},"
    change, value, anchor = found.overturns
    lead = scores[0] - scores[2]
    takes = lead / change.size
    yield f"A leads C by {g(lead)}. Weight that goes from headroom to cost takes {g(takes)} points a whole:"
    yield f"{g(lead)} / {g(takes)} = {100 * change.size:.1f} % changes hands"
    yield f"A leads B by {g(scores[0] - scores[1])}; headroom weighs a half, so {value.size:g} points of worth"
    assert value.text == "Process headroom of A: worth 100.0 -> 63.0, as 20 -> 12.6 K"
    yield "A's headroom down from 20 K to 12.6 K."
    level = h1 - anchor.size
    yield f"leaves A at {low[0, 0]:g} and lifts B to {low[1, 0] * h1:g} / x: level at {level:.2f} K."
    # The triangle: level with C at these shares of headroom along two edges.
    gap = low[0] - low[2]
    on_drop, on_cost = (-gap[j] / (gap[0] - gap[j]) for j in (1, 2))
    assert (on_drop, on_cost) == (pytest.approx(3 / 13), 0.5)
    area = (1 - on_drop) * (1 - on_cost)
    assert area == pytest.approx(5 / 13)
    yield "headroom has 3/13 on the edge to drop, and 1/2 on the edge to cost, so"
    yield f"first on 10/13 x 1/2 = 5/13 of the area, {100 * area:.1f} %, C on {100 * (1 - area):.1f} %, B on none"
    corners = np.array([[1, 0, 0], [1 / 2, 1 / 2, 0], [1 / 3, 1 / 3, 1 / 3]])
    yield "the corners are (1, 0, 0), (1/2, 1/2, 0) and (1/3, 1/3, 1/3); A"
    leads = corners @ gap
    yield f"there by {g(leads[0])}, by {g(leads[1])} and by {g(leads[2])}."
    piece = -leads[2] / (leads[0] - leads[2]) * -leads[2] / (leads[1] - leads[2])
    assert piece == pytest.approx(2 / 99)
    yield f"10/{leads[0] - leads[2]:.0f} x 10/{leads[1] - leads[2]:.0f} = 2/99, and A is first on"
    yield f"{100 * (1 - piece):.1f} %."
    assert (found.chances.draws, found.chances.seed) == (10_000, 1)
    yield f"10,000 draws with seed 1 say {share(found.chances.first[0])} and {share(known.chances.first[0])}."
    for entry, exact in ((found, area), (known, 1 - piece)):
        assert abs(entry.chances.first[0] - exact) < 4 * np.sqrt(exact * (1 - exact) / 10_000)
    a, b, c = open_three.admitted
    yield f"A has {g(a.score_low)}, B {g(b.score_low)} to {g(b.score_high)}, C {g(c.score_low)} to {g(c.score_high)}."
    places = {(e.best, e.worst) for e in robustness(open_three, "stated").contenders[1:]}
    ((best, worst),) = places
    yield f"open between places {best} and {worst}."
    first, second = narrowing(open_three, b)
    assert (first.alloy, second.alloy) == ("C", "B")
    yield f"settles B's place in {100 * first.settles:.1f} % of its outcomes, measuring"
    yield f"B's cost in {100 * second.settles:.1f} %:"
    yield from of_the_meeting(three)


def of_the_meeting(three):
    raw = {"kind": "direct", "author": "x", "date": date(2026, 11, 2), "reason": "r"}
    given = {"one": (50, 30, 20), "other": (40, 40, 20)}
    answers = {
        name: from_raw({**raw, "direct": dict(zip(CRITERIA, w, strict=True))}, CRITERIA) for name, w in given.items()
    }
    agenda = Agenda("t", 1, False, {})
    found, voted = hold(three, answers, agenda), hold(three, answers, dataclasses.replace(agenda, votes={"one": 3}))
    low, _, _ = table(three)

    def scores(weights):
        return [g(x) for x in accumulated(low, np.array(weights))]

    def percents(weights):
        return ", ".join(f"{100 * w:.3g}" for w in weights) + " %"

    one, other = (voice.weights for voice in found.voices)
    s, t = scores(one), scores(other)
    yield f"One weighs {percents(one)}: A {s[0]}, B {s[1]}, C {s[2]}."
    yield f"The other {percents(other)}: A {t[0]}, B {t[1]}, C {t[2]}."
    assert set(found.agreed) == {("A", "B"), ("A", "C")}
    order = ", ".join(found.in_order(found.group_ranks))
    yield f"The mean, {percents(found.group)}, gives {', '.join(scores(found.group))}: {order}."
    assert {entry.criterion for entry in found.moving} == {"Process headroom", "Drop shock"}
    tau = found.voices[0].with_group
    yield f"Kendall's W is {found.concordance:.2f}, tau-b of the first member with the mean {tau:.2f}."
    _, b, c = scores(voted.by_votes)
    yield f"the mean is {percents(voted.by_votes)} and B goes past C, {b} to {c}:"


def test_every_number_of_the_worked_example_is_computed(three, open_three):
    left = part("A worked example")
    for sentence in told_of(three, open_three):
        assert sentence in left, sentence
        left = left.replace(sentence, "", 1)
    assert re.findall(r"\d[\d./]*", left) == []


def test_the_case_in_which_sampling_alone_would_have_misled():
    decision = decide(read(shipped("motor-drive")).model_copy(update={"preferences": ()}), load())
    low, high, weights = table(decision)
    row = [entry.alloy.id for entry in decision.admitted].index("SAC405")
    titles = [share.criterion for share in decision.admitted[0].shares]
    text = part("Where sampling alone would have misled")
    by = {}
    for known in ("order", "quarter"):
        region = region_of(known, weights, ())
        found = optimality(high, region, low, np.array([row]))
        w = found.weights[0]
        # Said by the program, and true: these weights are admissible, and these figures lie in their intervals.
        assert region.contains(w, 1e-7)
        rest = np.delete(low @ w, row).max()
        assert high[row] @ w - rest == pytest.approx(found.lead[0], abs=1e-6)
        by[known] = (found.lead[0], dict(zip(titles, w, strict=True)))
    lead, at = by["order"]
    same = [at[name] for name in ("process_headroom_k", "pasty_range_k", "thermal_cycling", "wetting")]
    assert np.ptp(same) < 1e-6
    assert at["relative_cost"] == at["supply_risk_wt"] == pytest.approx(0, abs=1e-9)
    for sentence in (
        f"{100 * same[0]:.1f} % each on process headroom, pasty range, thermal cycling and wetting,",
        f"{100 * at['drop']:.1f} % on drop shock",
        f"put SAC405 first by {lead:.1f} points.",
        f"SAC405 first by {by['quarter'][0]:.1f} points.",
    ):
        assert sentence in text
    assert robustness(decision, "order").chances.first[row] == 0
    assert "none of 10,000 draws (seed 1)" in text
    more = [robustness(decision, known, 50_000).chances.first[row] * 50_000 for known in ("order", "quarter")]
    assert more == [pytest.approx(1), 0]
    assert "50,000 draws hit it once" in text
    assert "50,000 draws have none" in text


def test_every_caution_has_its_row():
    rows = [
        line
        for line in PAGE.split("## What decision analysts warn about\n")[1].split("\n## ")[0].splitlines()
        if "|" in line
    ]
    assert len(rows) - 2 == 11
    assert all(len(row.strip("|").split(" | ")) == 2 for row in rows[2:])


def test_every_kind_of_answers_has_an_example_that_can_be_read():
    text = PAGE.split("## Files of answers\n")[1].split("\n## ")[0]
    blocks = [textwrap.dedent(block) for block in re.findall(r"(?:^    .*\n)+", text, re.MULTILINE)]
    found = {answers.kind: answers for answers in (loads(block, CRITERIA) for block in blocks)}
    assert set(found) == set(KINDS) - {"direct"}
    assert found["swing"].weights == pytest.approx([0.5, 0.3, 0.2])
    assert found["rank"].weights == pytest.approx([11 / 18, 7 / 36, 7 / 36])
    assert found["pairs"].pairs.consistent
