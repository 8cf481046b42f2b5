"""The meeting on the page: entered alone, shown together, blind until frozen; its files give the same again."""

import json
import re
from datetime import date

import pyarrow as pa
import pytest
import tomli_w
from test_pages import opened, said, turned

from selector import link
from selector.brief import read, shipped
from selector.decision import decide
from selector.errors import InputError
from selector.meeting_folder import sit
from selector.record.meeting_files import files, zipped
from selector.record.meeting_words import order_rows, plain, sentence
from selector.ui import sitting as sittings
from selector.ui.decisions import decided
from selector.ui.sitting import Sitting

# The weights of the preset, which a brief without its own gets.
BRIEF = read(shipped("motor-drive")).model_copy(update={"preferences": ()})
LINK = link.pack(BRIEF.model_dump())
PURCHASING = {"process_headroom_k": 30, "pasty_range_k": 10, "drop": 20, "thermal_cycling": 60, "wetting": 20}
PURCHASING |= {"relative_cost": 100, "supply_risk_wt": 70}
QUALITY = {"process_headroom_k": 20, "pasty_range_k": 20, "drop": 40, "thermal_cycling": 100, "wetting": 30}
QUALITY |= {"relative_cost": 5, "supply_risk_wt": 5}
REASON = "a reason of my own"


@pytest.fixture(scope="module")
def decision():
    return decide(BRIEF)


def raw(points, **more):
    head = {"kind": "swing", "author": "somebody", "date": date(2026, 11, 25), "reason": REASON}
    return head | {"swing": dict(points)} | more


def visit(test):
    return f"panel:{test.session_state['sitting'].visit}"


def entered(test, name, points, reason=REASON):
    """Enter one member's swing points as a person does, and hand them in."""
    first = max(points, key=points.get)
    key = visit(test)
    test.radio(key=f"{key}:first").set_value(first).run()
    test.text_input(key=f"{key}:name").set_value(name)
    test.text_input(key=f"{key}:reason").set_value(reason)
    for criterion, value in points.items():
        if criterion != first:
            test.number_input(key=f"{key}:points:{criterion}").set_value(value)
    test.run()
    test.button(key=f"{key}:in").click().run()
    assert not test.exception
    return test


def met(*members, blind=False, together=True):
    """Open the page on a meeting in which these have handed in."""
    asked = decided(BRIEF)
    meeting = Sitting(blind=blind)
    for name, points in members:
        meeting = sittings.handed_in(meeting, name, raw(points), asked)
    test = opened(c=LINK)
    test.session_state["sitting"] = meeting
    if blind:
        test.session_state["panel:blind"] = True
    turned(test, "panel")
    return press(test, "panel:together") if together else test


def press(test, key):
    test.button(key=key).click().run()
    assert not test.exception
    return test


def settle(test, kind, by="chair"):
    test.text_input(key=f"panel:by:{kind}").set_value(by)
    return press(test, f"panel:{kind}")


def everything(test):
    """Return every text that the page hands to the browser: of each element, and of each chart with its data."""
    texts = [said(test)]
    for node in test.main:
        texts.append(str(node.proto) if hasattr(node, "proto") else str(node))
    for kind in ("radio", "number_input", "text_input", "button", "selectbox", "toggle"):
        texts += [str(each.proto) for each in getattr(test, kind)]
    texts += [str(each.proto) for each in test.get("download_button")]
    for frame in (*test.table, *test.dataframe):
        texts.append(frame.value.reset_index().to_string())
    for chart in test.get("vega_lite_chart"):
        texts += [chart.proto.spec, chart.proto.alt]
        texts += [pa.ipc.open_stream(each.data.data).read_pandas().to_string() for each in chart.proto.datasets]
    return re.sub(r"\\(.)", r"\1", "\n".join(texts)).replace("SAC305 = 1", "")  # the unit of cost names no candidate


def test_two_members_meet_blind_freeze_and_lift_the_letters(decision, tmp_path):
    ids = [entry.alloy.id for entry in decision.admitted]
    test = opened("panel", c=LINK)
    test.toggle(key="panel:blind").set_value(True).run()
    entered(test, "purchasing", PURCHASING)
    entered(test, "quality", QUALITY)
    assert [name for name in ids if name in everything(test)] == []
    press(test, "panel:together")
    shown = everything(test)
    assert "The members do not agree on the first place" in shown
    assert "Alloys stand under letters" in shown
    assert [name for name in ids if name in shown] == []
    # What is handed over while letters stand holds no names either.
    told = sittings.held(test.session_state["sitting"], decision)
    assert [name for name in ids if name in json.dumps(plain(told))] == []
    test = settle(test, "frozen", by=" ")
    assert "is not a name" in said(test)
    settle(test, "frozen")
    assert [name for name in ids if name in everything(test)] == []
    assert "Weights frozen by chair at" in said(test)
    settle(test, "unblinded", by="the *chair*")
    assert "Letters lifted by the *chair* at" in said(test)
    assert "the \\*chair\\*" in "\n".join(each.value for each in test.caption)
    assert all(name in everything(test) for name in ids)
    assert "Changed since" not in said(test)
    # The folder gives the same meeting, to the mark.
    meeting = sittings.held(test.session_state["sitting"], decision)
    held = test.session_state["sitting"]
    texts = files(
        decision.brief,
        sittings.agenda(held, decision, held.members),
        {name: each.raw for name, each in held.members.items()},
    )
    for path, text in texts.items():
        (tmp_path / path).parent.mkdir(exist_ok=True)
        (tmp_path / path).write_text(text, encoding="utf-8")
    again = sit(tmp_path).meeting
    assert again.fingerprint == meeting.fingerprint
    assert not again.changed
    assert plain(again) == plain(meeting)
    assert (sentence(again), order_rows(again)) == (sentence(meeting), order_rows(meeting))
    assert zipped(texts) == zipped(dict(texts))


def test_a_member_sees_nothing_of_the_one_before_and_the_address_never_does():
    test = entered(opened("panel", c=LINK), "purchasing", PURCHASING, reason="a secret of buying")
    assert "Handed in: 1" in said(test)
    assert "secret" not in everything(test)
    assert all(each.value is None for each in test.number_input if ":points:" in (each.key or ""))
    key = visit(test)
    assert test.text_input(key=f"{key}:name").value == ""
    assert test.radio(key=f"{key}:first").value is None
    assert "purchasing" not in str(dict(test.query_params))
    test.text_input(key=f"{key}:name").set_value("process").run()
    turned(turned(test, "alloys"), "panel")
    assert "Handed in: 1" in said(test)
    assert test.text_input(key=f"{key}:name").value == "process"  # half an entry is kept too
    assert "purchasing" not in str(dict(test.query_params))


def test_covered_answers_are_in_no_file_and_each_member_can_take_their_own():
    test = met(("purchasing", PURCHASING), ("quality", QUALITY), blind=True, together=False)
    assert "zip" not in offered(test)
    key = visit(test)
    assert f"{key}:own" not in offered(test)
    test.radio(key=f"{key}:way").set_value("rank").run()
    test.text_input(key=f"{key}:name").set_value("process")
    test.text_input(key=f"{key}:reason").set_value(REASON)
    for place, name in enumerate(PURCHASING):
        test.number_input(key=f"{key}:rank:{name}").set_value(place + 1)
    test.run()
    assert f"{key}:own" in offered(test)
    press(test, "panel:together")
    assert "zip" in offered(test)
    press(test, "panel:together")
    assert "zip" not in offered(test)


def offered(test):
    return " ".join(each.proto.id for each in test.get("download_button"))


def test_every_fault_is_told_at_once_and_nothing_is_taken():
    test = opened("panel", c=LINK)
    test.radio(key="panel:0:first").set_value("drop").run()
    test.number_input(key="panel:0:points:wetting").set_value(120)
    press(test, "panel:0:in")
    text = test.error[0].value.replace("\\", "")
    assert "the name: cannot be used" in text
    assert "reason: is missing" in text
    assert "Wetting: is not a number in range; got 120.0; allowed: 0 to 100" in text
    assert "Thermal cycling: was not answered" in text
    assert not test.session_state["sitting"].members
    assert test.number_input(key="panel:0:points:wetting").value == 120  # as typed, not clamped


def test_whole_answers_bring_the_questions_that_check_them():
    test = opened("panel", c=LINK)
    assert "stand here" in said(test)
    test.radio(key="panel:0:first").set_value("thermal_cycling").run()
    for name, points in QUALITY.items():
        if name != "thermal_cycling":
            test.number_input(key=f"panel:0:points:{name}").set_value(points)
    test.run()
    assert "Would you really swap the one for the other?" in said(test)
    weights = test.table[0].value["weight, %"]
    assert weights["Thermal cycling"] == f"{100 * 100 / 220:.1f}"


def test_a_rank_order_with_equals_gives_the_middle_of_its_region(decision):
    test = opened("panel", c=LINK)
    test.radio(key="panel:0:way").set_value("rank").run()
    test.text_input(key="panel:0:name").set_value("process")
    test.text_input(key="panel:0:reason").set_value(REASON)
    for place, name in enumerate(PURCHASING):
        test.number_input(key=f"panel:0:rank:{name}").set_value(max(1, place))  # the first two are equal
    test.run()
    press(test, "panel:0:in")
    (entry,) = test.session_state["sitting"].members.values()
    first, second, *rest = PURCHASING
    assert entry.raw["order"] == [[first, second], *rest]
    (found,) = sittings.counted(test.session_state["sitting"], decision).values()
    assert found.kind == "rank"
    assert found.weights[0] == found.weights[1] == max(found.weights)


def test_members_files_come_in_all_or_none():
    test = opened("panel", c=LINK)
    test.radio(key="panel:0:way").set_value("file").run()
    good = ("quality.toml", tomli_w.dumps(raw(QUALITY)).encode(), "application/toml")
    bad = ("mean.toml", tomli_w.dumps(raw(PURCHASING | {"drop": -1})).encode(), "application/toml")
    broken = ("broken.toml", b"kind = ", "application/toml")
    test.file_uploader(key="panel:0:files").set_value([good, bad, broken]).run()
    press(test, "panel:0:in")
    text = test.error[0].value.replace("\\", "")
    for fault in ("broken.toml", "is that of a column", "Drop shock: is not a number in range"):
        assert fault in text
    assert not test.session_state["sitting"].members
    other = ("purchasing.toml", tomli_w.dumps(raw(PURCHASING)).encode(), "application/toml")
    test.file_uploader(key="panel:0:files").set_value([good, other]).run()
    press(test, "panel:0:in")
    assert list(test.session_state["sitting"].members) == ["purchasing", "quality"]


def test_votes_stand_beside_the_mean_and_change_the_mark():
    test = met(("purchasing", PURCHASING), ("quality", QUALITY))
    places = next(each.value for each in test.table if "mean" in each.value.columns)
    assert "by votes" not in places.columns
    before = said(test)
    test.number_input(key="panel:votes:0").set_value(9.0).run()
    places = next(each.value for each in test.table if "mean" in each.value.columns)
    assert list(places["by votes"]) != list(places["mean"])
    assert re.search(r"Mark of what stands now: (\w+)", said(test))[1] not in before


def test_what_changes_after_freezing_is_said_and_letters_then_stay(decision):
    test = settle(met(("purchasing", PURCHASING), ("quality", QUALITY), blind=True), "frozen")
    assert test.toggle(key="panel:blind").disabled
    assert test.number_input(key="panel:seed").disabled
    test.number_input(key="panel:votes:0").set_value(9.0).run()
    assert any("Changed since it was frozen" in each.value for each in test.warning)
    settle(test, "unblinded")
    assert "something changed after it was frozen" in said(test)
    assert [entry.alloy.id for entry in decision.admitted if entry.alloy.id in everything(test)] == []
    press(test, "panel:new")
    assert "Handed in: 0" in said(test)


def test_answers_to_other_ranges_do_not_count_until_asked_again():
    test = met(("purchasing", PURCHASING), ("quality", QUALITY))
    turned(test, "brief")
    test.selectbox(key="anchor:0").set_value("pasty_range_k").run()
    points = next(each for each in test.text_input if each.label.startswith("Anchors"))
    points.set_value("0: 100, 30: 0")
    next(each for each in test.text_input if each.label == "Reason").set_value("we saw hot tearing later")
    test.text_input(key="anchor_author:0").set_value("process")
    press(test, "move_anchor")
    turned(test, "panel")
    assert any("Asked about other ranges" in each.value for each in test.warning)
    assert not [each for each in test.button if each.key == "panel:together"]
    assert "Places" not in said(test)


def test_a_name_is_shown_as_typed_and_one_that_cannot_be_a_file_is_refused():
    name = "__Bold__ $x$ [a](b)"
    test = met((name, PURCHASING), ("quality", QUALITY))
    assert name in said(test)
    assert not any(name in text for text in (each.value for each in test.markdown))
    for refused in ("", "a/b", "mean", "x" * 41, ".hidden", "two\x00"):
        with pytest.raises(InputError):
            sittings.name_of(refused, Sitting())
    with pytest.raises(InputError, match="handed in already"):
        sittings.name_of("Quality", test.session_state["sitting"])
    press(test, "panel:out:0")
    assert "Handed in: 1" in said(test)


def test_nothing_admitted_leaves_nothing_to_weigh():
    assert "A meeting weighs 2 alloys or more" in said(opened("panel", brief="river-logger"))
