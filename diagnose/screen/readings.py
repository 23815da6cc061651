"""A reading beside its limits: where it lies, who sets each limit, and how sure that is so near to one."""

from __future__ import annotations

from diagnose.model.library import Library
from diagnose.model.story import Seen
from diagnose.units import plain

__all__ = ["beside_limits"]


def beside_limits(library: Library, seen: Seen) -> list[str]:
    """Lines on one measured answer: each limit with its source, and how the reading is shared out between
    two bands where it lies within what it repeats to. Empty for an answer without a number."""
    reading = library.findings[seen.finding].reading
    if reading is None or seen.reading is None:
        return []
    lines = []
    word = "from" if reading.direction == "over" else "at or below"
    level = reading.level(seen.reading)
    for number, limit in enumerate(reading.limits, start=1):
        side = "past it" if number <= level else "not past it"
        sources = ", ".join(library.sources[each].name for each in limit.source if each in library.sources)
        told = f" [{sources}]" if sources else ""
        lines.append(f"{limit.name}, {word} {plain(limit.value)} {reading.unit}: {side}{told}")
    shares = reading.likelihoods(seen.reading)
    if max(shares) < 1.0:
        names = [reading.below, *(limit.name for limit in reading.limits)]
        parts = [
            f"{round(100 * share)} of 100 {name}"
            for share, name in sorted(zip(shares, names, strict=True), key=lambda each: -each[0])
            if round(100 * share)
        ]
        lines.append(
            f"Near a limit: such a reading repeats within {plain(reading.repeatability)} {reading.unit}, "
            f"so it counts as {', '.join(parts)}."
        )
    return lines
