"""Sheets and all that follows from them as plain values for JSON, in degrees and millimetres."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from diagnose.angles.derive import Derived, derived
from diagnose.angles.doubts import Doubt
from diagnose.angles.judge import Judgement, judged
from diagnose.angles.sheet import Allowed, Sheet, Sheets
from diagnose.angles.show import Shown

__all__ = ["sheets_json"]


def sheets_json(sheets: Sheets, doubts: Sequence[Doubt], general: bool = False) -> dict[str, Any]:
    """Everything that the screen tells; docs/json.md documents every key."""
    car = sheets.car
    shown = Shown(sheets.units, car.toe_at)
    return {
        "units": sheets.units,
        "car": {
            "name": car.name or None,
            "front": car.front or None,
            "rear": car.rear or None,
            "wheelbase": _length(car.wheelbase),
            "front_track": _length(car.front_track),
            "rear_track": _length(car.rear_track),
            "toe_at": _length(car.toe_at),
        },
        "specification": [
            {"axle": axle, "angle": angle, **_allowed(row, angle == "set-back-length")}
            for axle, angle, row in sheets.specification.rows
        ],
        "measurements": [_measured(sheet, shown, general) for sheet in sheets.both()],
        "questions": [_doubt(doubt) for doubt in doubts],
    }


def _measured(sheet: Sheet, shown: Shown, general: bool) -> dict[str, Any]:
    figures = derived(sheet)
    return {
        "when": sheet.when,
        "values": [
            {
                "axle": spot.axle or None,
                "side": spot.side or None,
                "angle": spot.angle,
                "value": _length(value) if spot.is_length else _degrees(value),
            }
            for spot, value in sheet.values()
        ],
        "derived": _figures(figures),
        "verdicts": [_judgement(one) for one in judged(sheet, shown, general, figures)],
    }


def _figures(figures: Derived) -> dict[str, Any]:
    return {
        name: {
            "value": _length(figure.value) if figure.length else _degrees(figure.value),
            "of": list(figure.of),
            "missing": list(figure.missing),
        }
        for name, figure in figures.items()
    }


def _judgement(one: Judgement) -> dict[str, Any]:
    number = _length if one.spot.is_length else _degrees
    return {
        "axle": one.spot.axle,
        "side": one.spot.side or None,
        "angle": one.spot.angle,
        "value": number(one.value),
        "verdict": one.verdict,
        "past": number(one.past),
        "words": one.words,
        "source": one.source or None,
        **_allowed(one.allowed, one.spot.is_length),
    }


def _allowed(row: Allowed, is_length: bool) -> dict[str, Any]:
    number = _length if is_length else _degrees
    told: dict[str, Any] = {key: number(getattr(row, key)) for key in ("low", "high", "nominal", "cross")}
    return {**told, "adjustable": row.adjustable}


def _doubt(doubt: Doubt) -> dict[str, Any]:
    return {
        "when": doubt.when,
        "axle": doubt.spot.axle or None,
        "side": doubt.spot.side or None,
        "angle": doubt.spot.angle or None,
        "question": doubt.question,
        "instead": list(doubt.instead),
        "line": doubt.place.line if doubt.place else None,
        "column": doubt.place.column if doubt.place else None,
    }


def _degrees(value: float | None) -> float | None:
    """Radians as degrees, to a millionth; nothing has no sign."""
    return None if value is None else round(math.degrees(value), 6) + 0.0


def _length(value: float | None) -> float | None:
    """Metres as millimetres, to a thousandth."""
    return None if value is None else round(value * 1000.0, 3) + 0.0
