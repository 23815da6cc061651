"""What a wheel-angle sheet says in sentences: questions, what is out, what cannot be set, what is missing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from rich.console import Group, RenderableType
from rich.text import Text

from diagnose.angles.doubts import Doubt
from diagnose.angles.judge import NEAR, Judgement
from diagnose.angles.sheet import SIDES, Sheets, Spot
from diagnose.screen.angles import MARKS, STYLES, Judged
from diagnose.screen.desk import Look
from diagnose.screen.pages import labelled, paragraph

__all__ = ["doubts_page", "missing", "spot_name", "verdicts_page"]


def doubts_page(doubts: Sequence[Doubt], look: Look) -> RenderableType:
    """The questions, each with its place; they are told before anything is built on the values."""
    lines: list[RenderableType] = [
        Text(f"{len(doubts)} question{'s' if len(doubts) != 1 else ''}", style="bold")
    ]
    for doubt in doubts:
        line = f", line {doubt.place.line}" if doubt.place else ""
        lines.append(paragraph(f"? {doubt.when}{line}: {doubt.words}", look, 2, "yellow"))
    return Group(*lines)


def verdicts_page(sheets: Sheets, all_judged: Sequence[Judged], look: Look) -> RenderableType:
    """What is out or near a limit in the latest measurement, what can be set, and what is missing."""
    lines: list[RenderableType] = []
    if all_judged:
        lines += _out(all_judged, look)
    lines += _settable(sheets, look)
    if all_judged:
        absent = missing(all_judged[-1])
        if absent:
            lines.append(labelled("Missing", ", ".join(absent), look))
    return Group(*lines)


def _out(all_judged: Sequence[Judged], look: Look) -> Iterator[RenderableType]:
    """What is out or near a limit in the latest measurement, and what has been put right."""
    last = all_judged[-1]
    for one in last.judgements:
        if one.verdict == "out":
            yield labelled(f"{MARKS['out']} Out", _sentence(one), look, STYLES["out"])
    near = [_sentence(one) for one in last.judgements if one.verdict == "near"]
    if near:
        yield labelled(f"{MARKS['near']} Near a limit, {NEAR}", "", look, STYLES["near"])
        for text in near:
            yield paragraph(text, look, 4)
    if len(all_judged) == 2:
        before = {one.spot for one in all_judged[0].judgements if one.verdict == "out"}
        mended = [
            spot_name(one.spot) for one in last.judgements if one.spot in before and one.verdict == "in"
        ]
        if mended:
            yield labelled("Now in", ", ".join(mended), look, STYLES["in"])
    if not any(one.verdict in ("out", "near") for one in last.judgements):
        told = any(one.verdict == "in" for one in last.judgements)
        yield paragraph(
            "Nothing measured is out." if told else "No limits are given: nothing is judged.", look
        )


def _sentence(one: Judgement) -> str:
    can = {True: "; can be set", False: "; cannot be set on this car", None: ""}[one.adjustable]
    return f"{spot_name(one.spot)}: {one.words}{can}"


def spot_name(spot: Spot) -> str:
    """`front left toe`, `front difference of camber`."""
    if spot.angle.startswith("cross-"):
        return f"{spot.axle} difference of {replace(spot, angle=spot.angle.removeprefix('cross-')).name}"
    return spot.words


def _settable(sheets: Sheets, look: Look) -> Iterator[RenderableType]:
    told: dict[bool, list[str]] = {True: [], False: []}
    for axle, angle, row in sheets.specification.rows:
        if row.adjustable is not None:
            told[row.adjustable].append(Spot(axle, "", angle).words)
    if told[True]:
        yield labelled("Can be set", ", ".join(told[True]), look)
    if told[False]:
        yield labelled("Cannot be set on this car", ", ".join(told[False]), look)


def missing(last: Judged) -> list[str]:
    """What was not measured or not told, both sides in one word where both are missing."""
    front = ("camber", "caster", "inclination", "toe")
    wanted = [("rear", "camber"), ("rear", "toe"), *(("front", angle) for angle in front)]
    wanted += [("front", "height"), ("rear", "height")]
    absent: list[str] = []
    for axle, angle in wanted:
        lost = [
            Spot(axle, side, angle) for side in SIDES if last.sheet.value(Spot(axle, side, angle)) is None
        ]
        both = replace(lost[0], side="") if len(lost) == 2 else None
        absent += [both.words] if both else [spot.words for spot in lost]
    if last.figures.set_back.value is None and last.figures.set_back_length.value is None:
        absent.append("front set-back")
    if last.figures.set_back.value is None and last.figures.set_back_length.value is not None:
        absent.append("front track (for set-back as an angle)")
    if last.figures.crab.value is None and last.sheet.car.wheelbase is None:
        absent.append("wheelbase (for how far the rear runs off)")
    if not last.sheet.specification.rows:
        absent.append("what is allowed on this car")
    return absent
