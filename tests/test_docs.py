"""What a person can meet is told in docs/: every rule, criterion, scale, field, verb and page."""

import re
from pathlib import Path

import pytest

from selector.brief import Brief, read, shipped
from selector.catalogue import load
from selector.catalogue.bands import SCALES
from selector.cli import app
from selector.decision import decide
from selector.scoring.criteria import CRITERIA

ROOT = Path(__file__).parents[1]


def text(*names):
    return "\n".join((ROOT / name).read_text(encoding="utf-8") for name in names)


DOCS = text("README.md", *(f"docs/{path.name}" for path in sorted((ROOT / "docs").glob("*.md"))))


@pytest.mark.parametrize(
    "rule", sorted({v.rule for c in decide(read(shipped("skin-patch"))).candidates for v in c.screened.verdicts})
)
def test_every_rule_is_told(rule):
    assert rule in text("docs/screening.md")


@pytest.mark.parametrize("criterion", sorted(CRITERIA))
def test_every_criterion_is_told(criterion):
    assert criterion in text("docs/scoring.md")


@pytest.mark.parametrize("scale", sorted(SCALES))
def test_every_scale_and_level_is_told(scale):
    page = text("docs/catalogue.md")
    assert scale in page
    for level in SCALES[scale]:
        assert level in page


def fields(model, prefix=""):
    for name, field in model.model_fields.items():
        inner = [
            part
            for part in (field.annotation, *getattr(field.annotation, "__args__", ()))
            if hasattr(part, "model_fields")
        ]
        if inner:
            yield from fields(inner[0])
        else:
            yield name


@pytest.mark.parametrize("name", sorted(set(fields(Brief))))
def test_every_field_of_the_brief_is_told(name):
    assert f"`{name}`" in text("docs/brief.md")


@pytest.mark.parametrize(
    "verb", sorted((command.name or command.callback.__name__) for command in app.registered_commands)
)
def test_every_verb_is_told(verb):
    assert re.search(rf"(meltwise|\.\.\.|selector) {verb}\b", DOCS)


@pytest.mark.parametrize(
    "page", sorted(path.stem for path in (ROOT / "selector/ui/pages").glob("*.py") if path.stem != "__init__")
)
def test_every_page_is_told(page):
    assert f"| {page.replace('_', ' ').capitalize()} |" in text("docs/pages.md")


def test_the_counts_of_the_readme_are_true():
    catalogue = load()
    rows = sum(
        len(entry.candidates)
        for a in catalogue.alloys.values()
        for entry in a.evidence.values()
        if entry.origin != "computed" or entry.chosen
    )
    told = re.search(r"(\d+) generic alloys with ([\d,]+) observations", text("README.md"))
    assert int(told.group(1)) == len(catalogue.alloys)
    table = text("data/observations.csv").strip().splitlines()
    assert int(told.group(2).replace(",", "")) == len(table) - 1
    assert rows > 1000


def test_links_between_the_pages_of_the_docs_lead_somewhere():
    followed = set()
    for page in [ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").glob("*.md")]:
        for target in re.findall(r"\]\(([^)#]+)\)", page.read_text(encoding="utf-8")):
            assert (page.parent / target).exists(), (page.name, target)
            followed.add((page.parent / target).resolve())
    assert {path.resolve() for path in (ROOT / "docs").glob("*.md")} <= followed
