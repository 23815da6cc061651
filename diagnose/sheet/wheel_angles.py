"""Wheel angles before and after: every value with its verdict, and the car from above."""

from __future__ import annotations

import math
from collections.abc import Iterator

from diagnose.angles.judge import Judgement
from diagnose.angles.sheet import SIDES, Sheets, Spot
from diagnose.angles.show import Shown
from diagnose.screen.angles import Judged, judge_all
from diagnose.sheet.material import Material
from diagnose.sheet.page import Block, Cell, Column, Figure, Mark, Paragraph, Section, Table
from diagnose.sheet.pictures import Wheel, Wheels

__all__ = ["angles"]

_MARKS: dict[str, Mark] = {"out": "bad", "near": "near", "in": "good"}


def angles(material: Material, pictures_only: bool = False) -> Section | None:
    """The section; None if nothing was measured. pictures_only: without the table, for the owner."""
    sheets = material.session.sheets
    if not sheets.both():
        return None
    shown = Shown(sheets.units, sheets.car.toe_at)
    judged = judge_all(sheets, shown)
    blocks: list[Block] = []
    if not pictures_only:
        blocks += [
            _table(sheets, judged, shown),
            Paragraph(
                "Toe-in, top of the wheel out, top of the steering axis back and in, and to the right "
                "are positive. "
                "Near a limit: a second reading may tell otherwise.",
                "small",
            ),
        ]
    blocks += [Paragraph(text) for text in _changes(judged)]
    for one in judged if not pictures_only else judged[-1:]:
        caption = (
            f"{one.sheet.when.capitalize()} the setting, seen from above: angles exaggerated, not to scale."
        )
        if len(judged) == 1:
            caption = "Seen from above: angles exaggerated, not to scale."
        blocks.append(Figure(_picture(one, shown), caption))
    return Section("angles", "Wheel angles", tuple(blocks))


def _spots(judged: tuple[Judged, ...]) -> list[Spot]:
    """Every value that is judged in one of the measurements, in the order of the first."""
    return list(
        dict.fromkeys(one.spot for each in judged for one in each.judgements if one.value is not None)
    )


def _at(one: Judged, spot: Spot) -> Judgement | None:
    return one.of(spot.axle, spot.side, spot.angle)


def _table(sheets: Sheets, judged: tuple[Judged, ...], shown: Shown) -> Table:
    whens = [one.sheet.when.capitalize() if len(judged) > 1 else "Measured" for one in judged]
    columns = [Column("Angle")]
    for when in whens:
        columns += [Column(when, True), Column(f"{when}: verdict" if len(judged) > 1 else "Verdict")]
    columns.append(Column("Allowed"))
    rows = []
    for spot in _spots(judged):
        cells = [Cell(_name(spot))]
        for one in judged:
            found = _at(one, spot)
            value = "" if found is None or found.value is None else shown.value(found.value, _angle(spot))
            verdict = (
                "" if found is None or found.value is None or found.verdict == "no figure" else found.verdict
            )
            cells += [Cell(value), Cell(verdict, _MARKS.get(verdict, ""))]
        cells.append(Cell(_allowed(judged, spot, shown)))
        rows.append(tuple(cells))
    return Table("Every value against what is allowed on this car", tuple(columns), tuple(rows))


def _angle(spot: Spot) -> str:
    return spot.angle.removeprefix("cross-")


def _name(spot: Spot) -> str:
    """`front left camber`, `front camber, left less right`."""
    if spot.angle.startswith("cross-"):
        return f"{Spot(spot.axle, '', _angle(spot)).words}, left less right"
    return spot.words


def _allowed(judged: tuple[Judged, ...], spot: Spot, shown: Shown) -> str:
    found = next((one for one in (_at(each, spot) for each in judged) if one is not None), None)
    if found is None:
        return ""
    low, high, name = found.allowed.low, found.allowed.high, _angle(spot)
    said = ""
    if low is not None and high is not None:
        said = f"{shown.value(low, name)} to {shown.value(high, name)}"
    elif high is not None:
        said = f"up to {shown.value(high, name)}"
    elif low is not None:
        said = f"from {shown.value(low, name)}"
    return said + ("; cannot be set" if said and found.adjustable is False else "")


def _changes(judged: tuple[Judged, ...]) -> Iterator[str]:
    """In plain words, what is out and what was mended."""
    last = judged[-1]
    out = [_name(one.spot) for one in last.judgements if one.verdict == "out"]
    if len(judged) == 2:
        mended = [
            _name(one.spot)
            for one in judged[0].judgements
            if one.verdict == "out"
            and (now := _at(last, one.spot)) is not None
            and now.verdict in ("in", "near")
        ]
        if mended:
            yield f"Out before, in or at the limit now: {'; '.join(mended)}."
    if out:
        yield f"Out of the range of this car{' still' if len(judged) == 2 else ''}: {'; '.join(out)}."
    elif any(one.verdict in ("in", "near") for one in last.judgements):
        yield "Every value that has a range is within it, or at its limit."


# The picture --------------------------------------------------------------------------------------------


def _picture(one: Judged, shown: Shown) -> Wheels:
    wheels = tuple(_wheel(one, axle, side, shown) for axle in ("front", "rear") for side in SIDES)
    thrust = one.figures.thrust.value
    words = "thrust line not known"
    if thrust is not None:
        way = (
            "straight ahead"
            if abs(thrust) < math.radians(0.005)
            else f"to the {'right' if thrust > 0 else 'left'}"
        )
        found = one.of("rear", "", "thrust")
        verdict = f": {found.verdict}" if found and found.verdict in ("in", "out", "near") else ""
        words = f"thrust line {shown.angle(thrust)}, {way}{verdict}"
    told = "; ".join(
        f"{wheel.name}: {', '.join(text for text, _ in wheel.lines)}" for wheel in wheels if wheel.lines
    )
    return Wheels(
        f"The car from above, {one.sheet.when} the setting",
        f"{told}; {words}.",
        wheels,
        thrust,
        words,
        (words, "arrow over a wheel: to where its top leans"),
    )


def _wheel(one: Judged, axle: str, side: str, shown: Shown) -> Wheel:
    lines = []
    for angle in ("camber", "toe", "caster") if axle == "front" else ("camber", "toe"):
        value = one.value(axle, side, angle)
        if value is None:
            continue
        found = one.of(axle, side, angle)
        verdict = found.verdict if found is not None and found.verdict in ("out", "near") else ""
        lines.append((f"{angle} {shown.value(value, angle)}" + (f" {verdict}" if verdict else ""), verdict))
    return Wheel(
        f"{axle} {side}", one.value(axle, side, "toe"), one.value(axle, side, "camber"), tuple(lines)
    )
