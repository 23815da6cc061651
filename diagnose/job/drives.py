"""The drives that a job keeps: those told of its car, and those to compare them with."""

from __future__ import annotations

from diagnose.debrief.drive import Drive
from diagnose.debrief.read import read_drive
from diagnose.job.state import JobState
from diagnose.model.library import Library

__all__ = ["drive_before_repair", "drives_of", "last_repair", "references_of"]


def drives_of(library: Library, state: JobState) -> list[tuple[int, Drive]]:
    """The drives told in the job, oldest first, each with the number of rounds before it."""
    return [(rounds, _drive(library, text)) for rounds, text in state.drives]


def references_of(library: Library, state: JobState) -> dict[str, Drive]:
    """The drives that the job keeps to compare with, by whose they are: `good-car`, `same-car-before`."""
    return {of: _drive(library, text) for of, text in state.references.items()}


def last_repair(state: JobState) -> int:
    """Number of the last round with a repair, from 1; 0 if there was none."""
    return max((n for n, one in enumerate(state.rounds, start=1) if not one.later), default=0)


def drive_before_repair(library: Library, state: JobState) -> Drive | None:
    """The last drive told of the car before its last repair; None if there is none."""
    repaired = last_repair(state)
    earlier = [text for rounds, text in state.drives if rounds < repaired]
    return _drive(library, earlier[-1]) if earlier else None


def _drive(library: Library, text: str) -> Drive:
    return read_drive(library, text.encode(), "the job's drive")
