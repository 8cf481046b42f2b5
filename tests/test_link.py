"""A link carries the public part of a brief, whole and bounded, and never what is private."""

import base64
import re
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector import link
from selector.brief import from_raw, read, shipped
from selector.errors import InputError

NAMES = ("skin-patch", "motor-drive", "river-logger", "sensor-stack")


@pytest.mark.parametrize("name", NAMES)
def test_what_is_public_comes_back_whole(name):
    raw = read(shipped(name)).model_dump()
    back = from_raw(link.unpack(link.pack(raw)))
    assert back == from_raw({**raw, "bans": (), "overrides": (), "preferences": ()})


def test_private_tables_are_never_in_a_link():
    raw = read(shipped("skin-patch")).model_dump()
    raw["bans"][0]["reason"] = "secret of the customer"
    content = link.unpack(link.pack(raw))
    assert not set(content) & set(link.PRIVATE)
    assert "secret" not in str(content)


def test_own_prices_stay_out_of_a_link_and_are_marked_as_private():
    raw = read(shipped("river-logger")).model_dump()
    assert link.private({**raw, "preferences": ()}) == {}
    raw["footprint"] |= {"prices": ({"element": "Sn", "usd_kg": 29.5},), "prices_dated": "2026-10"}
    back = link.unpack(link.pack(raw))
    assert back["footprint"]["usual_peak_c"] == 245
    assert not {"prices", "prices_dated"} & set(back["footprint"])
    assert set(link.private(raw)) == {"footprint.prices", "footprint.prices_dated"}
    # One made by hand may carry them: they are not taken from a stranger either.
    by_hand = packed('title = "t"\n[footprint]\nusual_peak_c = 240\nprices_dated = "2026-10"\n')
    assert link.unpack(by_hand) == {"title": "t", "footprint": {"usual_peak_c": 240}}


@pytest.mark.parametrize(
    "text",
    ['[[steps]]\nname = "a"\nlimits = [[1]]', '[[steps]]\nname = "a"\nlimits = [{x = {y = 1}}]',
     '[printing]\nfoil_um = {x = 1}', "steps = [3]"],
)  # fmt: skip
def test_tables_of_another_shape_are_no_brief(text):
    with pytest.raises(InputError, match="is no brief"):
        link.unpack(packed(f'title = "t"\n{text}\n'))


@pytest.mark.parametrize("name", NAMES)
def test_links_of_the_demonstration_briefs_are_short(name):
    assert len(link.pack(read(shipped(name)).model_dump())) < 1200


def test_what_is_typed_wrongly_travels_too():
    raw = {"title": "t", "service": {"maximum_c": "warm"}}
    assert link.unpack(link.pack(raw)) == raw


def test_a_brief_too_long_for_a_link_is_refused_politely():
    import random

    random.seed(1)
    noise = ["".join(chr(random.randrange(33, 126)) for _ in range(80)) for _ in range(90)]
    with pytest.raises(InputError, match="save it as a file"):
        link.pack({"title": "t", "parts": [{"name": name} for name in noise]})


def packed(text):
    """Return any text as a link that can at least be unpacked."""
    return base64.urlsafe_b64encode(zlib.compress(text.encode())).decode().rstrip("=")


# Noise alone never gets past the first check: half of the texts are packed as a brief would be.
@given(st.text(max_size=200) | st.text(st.characters(codec="utf-8"), max_size=200).map(packed))
def test_any_text_is_unpacked_or_refused_in_words(text):
    try:
        assert isinstance(link.unpack(text), dict)
        return
    except InputError as error:
        refused = error
    assert refused.what == "the link"
    assert refused.faults
    for fault in refused.faults:
        assert fault.where
        assert re.search(r"[a-z]+ [a-z]+", fault.problem)


def test_a_bomb_and_a_cut_link_are_refused():
    bomb = base64.urlsafe_b64encode(zlib.compress(b"#" * 10_000_000, 9)).decode()
    whole = link.pack(read(shipped("skin-patch")).model_dump())
    for text in (bomb[: link.LONGEST_LINK], whole[:-30], "A" * 5000):
        with pytest.raises(InputError):
            link.unpack(text)
    small_bomb = base64.urlsafe_b64encode(zlib.compress(b"#" * 200_000, 9)).decode().rstrip("=")
    assert len(small_bomb) < link.LONGEST_LINK
    with pytest.raises(InputError):
        link.unpack(small_bomb)


def test_a_deeply_nested_link_is_refused():
    deep = 'title = "t"\n[[markets]]\nmarket = ' + "[" * 60 + "]" * 60 + "\n"
    with pytest.raises(InputError, match="is no brief"):
        link.unpack(packed(deep))
