"""What is asked without T98 and T90 costs less, is kept apart, and never stands in for the whole."""

import pytest

from selector.composition import parse
from selector.melting import store
from selector.melting.store import melting_of

ALLOY = parse("Sn-20Bi-1Ag")


def test_the_solidus_alone_is_that_of_the_whole_and_hides_nothing(monkeypatch, tmp_path):
    monkeypatch.setenv(store.FOLDER_VARIABLE, str(tmp_path))
    (short,) = melting_of([ALLOY], full=False)
    assert short.t98_c is short.t90_c is None
    assert not short.failures
    (whole,) = melting_of([ALLOY])
    assert whole.liquidus_c > whole.t98_c > whole.t90_c > whole.solidus_c
    assert short.solidus_c == pytest.approx(whole.solidus_c, abs=0.06)
    assert short.remelt_onset_c == pytest.approx(whole.remelt_onset_c, abs=0.06)
    assert {path.name.split("-")[0] for path in tmp_path.iterdir()} == {"alloy", "solidus"}
    monkeypatch.setattr(store, "melt", None)
    assert melting_of([ALLOY], full=False) == (whole,)
