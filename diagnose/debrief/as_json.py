"""A drive and its comparisons as plain values for other programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from diagnose.debrief.compare import Change, Figure
from diagnose.debrief.drive import Drive
from diagnose.debrief.evidence import heard
from diagnose.debrief.write import drive_data
from diagnose.model.library import Library

__all__ = ["change_json", "debrief_json"]


def debrief_json(
    library: Library,
    drive: Drive,
    before: Sequence[Change] | None = None,
    reference: Sequence[Change] | None = None,
) -> dict[str, Any]:
    """All that the screen tells; docs/json.md describes every key. None: not compared."""
    return {
        "drive": drive_data(drive),
        "heard": [
            {"complaint": each.complaint, "side": each.side, "answer": each.answer}
            for each in heard(library, drive)
        ],
        "before": None if before is None else [change_json(one) for one in before],
        "reference": None if reference is None else [change_json(one) for one in reference],
    }


def change_json(one: Change) -> dict[str, Any]:
    """One change as plain values."""
    return {
        "complaint": one.complaint,
        "side": one.side,
        "change": one.change,
        "legs": list(one.legs),
        "missing_before": list(one.missing_before),
        "missing_after": list(one.missing_after),
        "was": _figure(one.before),
        "is": _figure(one.after),
        "difference": one.difference,
        "deviation": None if one.scatter is None else round(one.scatter.deviation, 3),
        "scatter": None if one.scatter is None else [why for why, _ in one.scatter.parts],
        "share": None if one.share is None else round(one.share, 4),
        "verdict": one.verdict or None,
    }


def _figure(figure: Figure | None) -> dict[str, Any] | None:
    return None if figure is None else {"rating": figure.rating, "told": figure.told}
