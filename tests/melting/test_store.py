"""What was computed is kept on disk: once, for the same inputs, and never trusted where it cannot be read."""

import json
from dataclasses import fields

import pytest

import selector.melting.store as store
from selector.composition import from_mapping, parse
from selector.melting.alloy import Melting
from selector.melting.store import cache_folder, composition_key, inputs_hash, melting_of, remembered

TIN, INDIUM = parse("Sn"), parse("In")


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setenv("MELTWISE_CACHE", str(tmp_path / "kept"))
    store._kept.cache_clear()
    yield tmp_path / "kept"
    store._kept.cache_clear()


@pytest.fixture
def computed(monkeypatch):
    """Return the alloys that were computed, in order."""
    asked, honest = [], store.melt
    monkeypatch.setattr(store, "melt", lambda alloys, **options: asked.extend(alloys) or honest(alloys, **options))
    return asked


def test_the_folder_is_the_one_that_is_named_and_else_the_users_own(folder, monkeypatch):
    assert cache_folder() == folder
    monkeypatch.delenv("MELTWISE_CACHE")
    assert cache_folder().parts[-2:] == ("meltwise", "melting")


def test_no_test_touches_the_users_own_folder():
    import platformdirs

    assert not cache_folder().is_relative_to(platformdirs.user_cache_dir("meltwise", appauthor=False))


def test_a_second_call_computes_nothing(folder, computed):
    first = melting_of([TIN, INDIUM])
    assert computed == [TIN, INDIUM]
    store._kept.cache_clear()
    again = melting_of([INDIUM, TIN])
    assert computed == [TIN, INDIUM]
    assert again == (first[1], first[0])
    assert len(list(folder.iterdir())) == 2


def test_only_what_is_missing_is_computed_and_counted(folder, computed):
    melting_of([TIN])
    told = []
    melting_of([TIN, INDIUM, INDIUM], told.append)
    assert computed == [TIN, INDIUM]
    assert told == [1]


def test_one_composition_in_any_spelling_is_kept_once(folder, computed):
    melting_of([from_mapping({"Sn": "96.5", "Ag": "3.5"}), parse("Sn-3.5Ag")])
    assert len(computed) == 1
    assert composition_key(parse("Sn-3.5Ag")) == "Ag:7/2;Sn:193/2"


@pytest.mark.parametrize(
    "content",
    [
        "",
        "{",
        "[]",
        "null",
        '{"alloy": "Sn"}',
        '"\\ud800"',
        json.dumps({**dict.fromkeys((entry.name for entry in fields(Melting)), None), "more": 1}),
    ],
)
def test_a_file_that_cannot_be_read_is_computed_again_and_mended(folder, computed, content):
    honest = melting_of([TIN])
    (path,) = folder.iterdir()
    path.write_text(content, encoding="utf-8")
    store._kept.cache_clear()
    assert melting_of([TIN]) == honest
    assert computed == [TIN, TIN]
    store._kept.cache_clear()
    assert melting_of([TIN]) == honest
    assert computed == [TIN, TIN]


def test_a_file_of_bytes_is_computed_again(folder, computed):
    melting_of([TIN])
    (path,) = folder.iterdir()
    path.write_bytes(b"\xff\xfe\x00")
    store._kept.cache_clear()
    assert melting_of([TIN])[0].liquidus_c == pytest.approx(231.93, abs=0.05)
    assert computed == [TIN, TIN]


def test_a_folder_that_cannot_be_written_only_costs_the_time(tmp_path, monkeypatch, computed):
    blocked = tmp_path / "a-file"
    blocked.write_text("not a folder")
    monkeypatch.setenv("MELTWISE_CACHE", str(blocked / "below"))
    store._kept.cache_clear()
    assert melting_of([TIN]) == melting_of([TIN])
    assert computed == [TIN, TIN]
    assert remembered("kind", "key", lambda: 1) == 1
    assert blocked.read_text() == "not a folder"


def test_anything_may_be_remembered(folder):
    made = []
    for _ in range(2):
        assert remembered("list", "Sn", lambda: made.append(1) or [1.5, None, "x"]) == [1.5, None, "x"]
    assert made == [1]
    assert remembered("list", "In", lambda: [2]) == [2]
    assert remembered("other", "Sn", lambda: [3]) == [3]


def test_a_remembered_file_that_cannot_be_read_is_made_again(folder):
    remembered("list", "Sn", lambda: [1])
    (path,) = folder.iterdir()
    path.write_text("{")
    assert remembered("list", "Sn", lambda: [2]) == [2]
    assert json.loads(path.read_text()) == [2]


def test_no_half_written_file_is_left(folder):
    melting_of([TIN])
    assert [path.suffix for path in folder.iterdir()] == [".json"]


def test_other_inputs_are_another_result(monkeypatch):
    key = composition_key(TIN)
    before = inputs_hash(key)
    assert inputs_hash(key) == before != inputs_hash(composition_key(INDIUM))
    monkeypatch.setattr(store, "ENGINE", "another")
    engine = inputs_hash(key)
    monkeypatch.undo()
    rules = store.policy()
    other = rules.model_copy(update={"remelt": rules.remelt.model_copy(update={"mass_fraction_percent": 7.0})})
    monkeypatch.setattr(store, "policy", lambda: other)
    assert len({before, engine, inputs_hash(key)}) == 3
