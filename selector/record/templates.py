"""The templates of the pages that are handed over: filled with text escaped, the style in the page, data as JSON."""

import json
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

FOLDER = Path(__file__).parent


@cache
def environment() -> "Environment":
    """Return the environment of the templates; callers add filters of their own."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(loader=FileSystemLoader(FOLDER), autoescape=True, undefined=StrictUndefined, trim_blocks=True)


def style() -> "Markup":
    """Return the style of all pages."""
    from markupsafe import Markup

    return Markup((FOLDER / "page.css").read_text(encoding="utf-8"))


def embedded(content: object) -> "Markup":
    """Return data as JSON that stands in a page and closes no tag of it."""
    from markupsafe import Markup

    text = json.dumps(content, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return Markup(text.replace("<", "\\u003c"))
