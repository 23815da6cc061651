"""The sheet of a car seen in a mirror: for finding swapped sides, for testing that neither is favoured."""

from __future__ import annotations

from dataclasses import replace

from diagnose.angles.sheet import Axle, Sheet, Specification

__all__ = ["mirrored"]


def _turned(value: float | None) -> float | None:
    return None if value is None else -value


def mirrored(sheet: Sheet) -> Sheet:
    """The sheet of the car seen in a mirror: left and right swapped, what points to a side turned round."""

    def axle(one: Axle) -> Axle:
        return Axle(one.right, one.left, one.total_toe, _turned(one.set_back), _turned(one.set_back_length))

    turned = ("thrust", "set-back", "set-back-length")
    rows = tuple(
        (at, angle, replace(row, low=_turned(row.high), high=_turned(row.low), nominal=_turned(row.nominal)))
        if angle in turned
        else (at, angle, row)
        for at, angle, row in sheet.specification.rows
    )
    return replace(
        sheet,
        front=axle(sheet.front),
        rear=axle(sheet.rear),
        thrust=_turned(sheet.thrust),
        rim=_turned(sheet.rim),
        specification=Specification(rows),
    )
