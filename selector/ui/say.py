"""Text on the page. What a person typed is shown as typed: it can draw no image, open no link, set no heading."""

import re

from selector.scoring.criteria import CRITERIA

NAMES = re.compile(rf"\b(?:swing\.)?({'|'.join(CRITERIA)})\b")
MARKS = re.compile(r"([\\`*_{}\[\]()<>#+\-.!|~$:&])")


def plain(text: object) -> str:
    """Return text that Markdown leaves as it is, in one line."""
    return MARKS.sub(r"\\\1", " ".join(str(text).split()))


def titled(text: object) -> str:
    """Return text in which criteria go by their titles, as pages call them, not by their names in files."""
    return NAMES.sub(lambda found: CRITERIA[found[1]].title, str(text))
