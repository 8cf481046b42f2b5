"""A file waits for the run that its click started, and is made from that run."""

import threading
import time

import pytest

from selector.ui import downloads


def test_it_waits_for_the_run_and_takes_its_file(monkeypatch):
    monkeypatch.setattr(downloads, "GRACE_S", 0.0)
    box = {downloads.RUNNING: True, "file": lambda: b"before"}

    def run():
        time.sleep(0.1)
        box["file"] = lambda: b"after"
        box[downloads.RUNNING] = False

    threading.Thread(target=run).start()
    assert downloads.newest(box, "file")() == b"after"


@pytest.mark.parametrize("box", [{downloads.RUNNING: False}, {downloads.RUNNING: True, "file": lambda: b"before"}])
def test_what_the_fields_do_not_give_is_no_file(monkeypatch, box):
    monkeypatch.setattr(downloads, "GRACE_S", 0.0)
    monkeypatch.setattr(downloads, "LONGEST_S", 0.1)
    with pytest.raises(RuntimeError, match="gives no such file"):
        downloads.newest(box, "file")
