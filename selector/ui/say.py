"""Text on the page. What a person typed is shown as typed: it can draw no image, open no link, set no heading."""

import re

MARKS = re.compile(r"([\\`*_{}\[\]()<>#+\-.!|~$:&])")


def plain(text: object) -> str:
    """Return text that Markdown leaves as it is, in one line."""
    return MARKS.sub(r"\\\1", " ".join(str(text).split()))
