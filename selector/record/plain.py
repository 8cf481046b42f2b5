"""The decision as plain data: JSON for machines, rows for a spreadsheet."""

import csv
import io
from collections.abc import Mapping

from selector.catalogue import Alloy, Catalogue
from selector.challenge import Challenge
from selector.compliance.saved import of_brief, saved
from selector.composition import decimal_text
from selector.decision import Candidate, Decision
from selector.figures import figure
from selector.findings import changes_text
from selector.melting.facts import all_facts, melting_conflicts
from selector.melting.onset import remelt_onset
from selector.verdict import Verdict
from selector.weighing_marks import marks


def plain(decision: Decision) -> Mapping[str, object]:
    """Return the decision as plain data for JSON: what `shortlist --json` prints."""

    def verdict(entry: Verdict) -> dict[str, object]:
        measured = entry.measured
        return {
            "rule": entry.rule,
            "outcome": str(entry.outcome),
            "measured": None if measured is None else measured.value,
            "measured_low": None if measured is None else measured.low,
            "measured_high": None if measured is None else measured.high,
            "limit": entry.limit,
            "margin": entry.margin,
            "unit": "" if measured is None else measured.unit,
            "reason": entry.reason,
            "source": entry.source,
            "threshold": entry.threshold,
            "cautions": list(entry.cautions),
        }

    def candidate(entry: Candidate) -> dict[str, object]:
        return {
            "alloy": entry.alloy.id,
            "composition": str(entry.alloy.composition),
            "rank": entry.rank,
            "rank_best": entry.rank_best,
            "rank_worst": entry.rank_worst,
            "score": entry.score,
            "score_low": entry.score_low,
            "score_high": entry.score_high,
            "facts": {name: vars(fact) for name, fact in entry.facts().items()},
            "melting_conflicts": list(entry.conflicts()),
            "criteria": [
                {
                    "criterion": share.criterion,
                    "level": share.level.value,
                    "low": share.level.low,
                    "high": share.level.high,
                    "text": share.level.text,
                    "weight": share.weight,
                    "points": share.points,
                    "source": share.level.source,
                }
                for share in entry.shares
            ],
            "verdicts": [verdict(row) for row in entry.screened.verdicts],
            "would_admit": [
                {"field": edit.path, "change": edit.change, "unit": edit.unit, "text": edit.text}
                for edit in entry.edits
            ],
        }

    return {
        "brief": decision.brief.model_dump(mode="json"),
        "data_hash": decision.data_hash,
        "version": decision.version,
        "order": "by lower bound of the score; an alloy with a missing value has bounds and no score",
        "weighing": {
            "origin": decision.weighing.origin,
            "preferences": [entry.model_dump(mode="json") for entry in decision.weighing.preferences],
            "marks": list(marks(decision)),
        },
        "cautions": list(decision.cautions),
        # What `comply --recheck` asks again: rule by rule, where the verdicts below are one a group of rule sets.
        "compliance": saved(
            {entry.alloy.id: entry.alloy.composition for entry in decision.candidates}, of_brief(decision.brief)
        ),
        "admitted": [candidate(entry) for entry in decision.admitted],
        "undecided": [candidate(entry) for entry in decision.undecided],
        "ruled_out": [candidate(entry) for entry in decision.ruled_out],
    }


def guarded(text: str) -> str:
    """Return a text cell that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def rows(decision: Decision) -> list[dict[str, str]]:
    """Return one row an alloy: standing, rank, score, chief figures, and what blocks it or decides."""
    table = []
    for entry in decision.candidates:
        facts = entry.facts()
        row = {
            "alloy": guarded(entry.alloy.id),
            "composition": guarded(str(entry.alloy.composition)),
            "standing": str(entry.standing),
            "rank": "" if entry.rank is None else str(entry.rank),
            "score": "" if entry.score is None else figure(entry.score),
            "score_low": figure(entry.score_low),
            "score_high": figure(entry.score_high),
        }
        for name in ("solidus_c", "liquidus_c", "pasty_range_k", "remelt_onset_c", "relative_cost"):
            fact = facts[name]
            for column, value in ((name, fact.value), (f"{name}_low", fact.low), (f"{name}_high", fact.high)):
                row[column] = figure(value) if isinstance(value, float) else ""
            row |= {f"{name}_grade": fact.grade, f"{name}_source": guarded(fact.source)}
        row["reasons"] = guarded(entry.reasons())
        row["thresholds"] = guarded("; ".join(v.threshold for v in entry.screened.blocking if v.threshold))
        row["would_admit"] = guarded(changes_text(entry.edits))
        row["cautions"] = guarded("; ".join(entry.screened.cautions))
        row["data_hash"] = decision.data_hash
        table.append(row)
    return table


def csv_text(table: list[dict[str, str]]) -> str:
    """Return rows as CSV text with a heading."""
    out = io.StringIO()
    writer = csv.DictWriter(out, list(table[0]) if table else [], lineterminator="\n")
    writer.writeheader()
    writer.writerows(table)
    return out.getvalue()


def one_alloy(alloy: Alloy, catalogue: Catalogue) -> dict[str, object]:
    """Return everything that is known of one alloy as plain data."""

    def citation(source: str) -> str:
        names = [name for name in source.split("; ") if name in catalogue.sources]
        return "; ".join(catalogue.sources[name].citation for name in names)

    entries = all_facts(alloy, remelt_onset(alloy))
    return {
        "alloy": alloy.id,
        "composition": {element: decimal_text(wt) for element, wt in alloy.composition.parts},
        "at_percent": {element: round(float(at), 4) for element, at in alloy.composition.at_percent().items()},
        "family": alloy.family,
        "names": list(alloy.names),
        "forms": dict(alloy.forms),
        "ductility_class": dict(zip(("level", "best", "worst"), alloy.ductility, strict=True)),
        "properties": [
            {
                "property": entry.name,
                "value": entry.value,
                "low": entry.low,
                "high": entry.high,
                "unit": entry.unit,
                "grade": entry.grade,
                "origin": entry.origin,
                "source": entry.source,
                "citation": citation(entry.source),
                "rule": entry.rule,
                "cautions": list(entry.cautions),
                "candidates": [vars(row) for row in entry.candidates],
            }
            for entry in entries
        ],
        "melting_conflicts": [conflict.text for conflict in melting_conflicts(alloy)],
        "bands": [vars(band) for band in alloy.bands.values()],
        "notes": [vars(note) for note in alloy.notes],
    }


def challenged(found: Challenge) -> dict[str, object]:
    """Return the answer to a challenge as plain data."""
    whole = plain(found.decision)
    group = whole[str(found.candidate.standing)]
    assert isinstance(group, list)
    return {
        "alloy": next(entry for entry in group if entry["alloy"] == found.candidate.alloy.id),
        "standing": str(found.candidate.standing),
        "saved_by": [vars(edit) for edit in found.edits],
        "saved": found.saved,
        "replacement": None if found.replacement is None else found.replacement.alloy.id,
        "given_up": [vars(trade) for trade in found.given_up],
        "gained": [vars(trade) for trade in found.gained],
        "leader": found.decision.admitted[0].alloy.id if found.decision.admitted else None,
        "leader_given_up": [vars(trade) for trade in found.leader_given_up],
        "leader_gained": [vars(trade) for trade in found.leader_gained],
        "measurement": found.measurement,
        "data_hash": found.decision.data_hash,
    }
