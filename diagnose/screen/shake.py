"""How a frequency at a speed is shown: candidates, verdict, what to measure next; and the same as JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Group, RenderableType
from rich.text import Text

from diagnose.screen.desk import Look
from diagnose.screen.narrow import Table
from diagnose.screen.pages import labelled, paragraph
from diagnose.shake.advice import CAUTION, CLEAR, Advice
from diagnose.shake.fit import Fit
from diagnose.shake.given import Reading
from diagnose.units import plain

__all__ = ["read_line", "shake_json", "shake_page"]

#: Shown as a row: what fits at least so well, or is expected within this factor of what was measured.
SHOWN, NEAR = 0.01, 1.6

#: Expected frequencies shown in one cell.
MOST_CELL = 4


def read_line(readings: Sequence[Reading]) -> str:
    """`14.6 Hz at 110 km/h, 12.1 Hz at 90 km/h; speed by satellite, 20 s recorded`."""
    told = []
    for each in readings:
        revs = f" and {each.rpm:.0f} rpm" if each.rpm is not None else ""
        told.append(f"{plain(each.frequency)} Hz at {plain(each.shown)} {each.unit}{revs}")
    first = readings[0]
    how = "counted by hand" if first.felt else f"{plain(first.seconds)} s recorded"
    return f"{', '.join(told)}; speed by {first.by}, {how}"


def _word(fit: float) -> str:
    return "fits" if fit >= CLEAR else "hardly" if fit >= SHOWN else "no"


def _of_100(fit: float) -> str:
    return "<1" if fit < 0.005 else f"{100.0 * fit:.0f}"


def _cells(values: Sequence[float | None]) -> str:
    known = [f"{value:.1f}" for value in values if value is not None]
    more = " .." if len(known) > MOST_CELL else ""
    return ", ".join(known[:MOST_CELL]) + more if known else "-"


def shake_page(
    fits: Sequence[Fit], readings: Sequence[Reading], advice: Advice, look: Look
) -> RenderableType:
    """Everything said of the readings, for 80 columns."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    several = len(readings) > 2
    table.add_column("what shakes so often")
    table.add_column("expected at each, Hz" if several else "expected, Hz", justify="right")
    if not several:
        table.add_column("measured", justify="right")
    table.add_column("off", justify="right")
    table.add_column("fit of 100", justify="right", no_wrap=True)
    table.add_column("")
    shown = [each for each in fits if each.fit >= SHOWN or _near(each)]
    for each in shown:
        off = "-" if each.share is None else f"{round(100.0 * each.share) or 0:+d} %"
        cells = [each.source.name, _cells(each.expected)]
        cells += [] if several else [_cells([reading.frequency for reading in readings])]
        style = "" if each.fit >= CLEAR else "dim"
        table.add_row(*cells, off, _of_100(each.fit), _word(each.fit), style=style)
    parts: list[RenderableType] = [paragraph(f"Measured: {read_line(readings)}.", look, 0), Text(""), table]
    rest = [each.source.name for each in fits if each not in shown]
    if rest:
        parts.append(paragraph(f"Far off: {'; '.join(rest)}.", look, 0, "dim"))
    parts += [Text(""), paragraph(advice.verdict, look, 0, "bold")]
    parts += [paragraph(line, look, 0) for line in (advice.trend, *advice.open) if line]
    parts += [labelled("Doubt", line, look) for line in advice.doubts]
    parts += [labelled("Next", line, look) for line in advice.next]
    if advice.next:
        parts.append(labelled("Caution", CAUTION, look))
    return Group(*parts)


def _near(fit: Fit) -> bool:
    return fit.share is not None and 1.0 / NEAR <= 1.0 + fit.share <= NEAR


def shake_json(
    fits: Sequence[Fit], readings: Sequence[Reading], advice: Advice, shares: Mapping[str, float]
) -> dict[str, Any]:
    """The same as plain values: hertz, metres a second, shares."""
    return {
        "readings": [
            {
                "frequency_hz": each.frequency,
                "speed_m_per_s": each.speed,
                "rpm": each.rpm,
                "speed_by": each.by,
                "seconds": None if each.felt else each.seconds,
                "counted": each.felt,
            }
            for each in readings
        ],
        "candidates": [
            {
                "kind": each.source.kind,
                "order": each.source.number or None,
                "name": each.source.name,
                "expected_hz": list(each.expected),
                "deviation": each.share,
                "fit": each.fit,
            }
            for each in fits
        ],
        "shares": dict(shares),
        "verdict": advice.verdict,
        "trend": advice.trend or None,
        "open": list(advice.open),
        "doubts": list(advice.doubts),
        "measure_next": list(advice.next),
        "caution": CAUTION,
    }
