"""Closed jobs of a journal as jobs to learn from: what a cure says of its cause, and what it leaves open.

A complaint that is gone after one thing was put right confirms it. One that is still there says that it was
not (all of) it. Where several things were put right together, or nobody drove afterwards, the cause stayed
hidden: the answers still tell something.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from diagnose.job.case import Case
from diagnose.job.journal import Journal
from diagnose.job.repairs import meant_for
from diagnose.job.state import Heard, JobState, RoundState, fold
from diagnose.job.steps import entries_of
from diagnose.job.story import known_story
from diagnose.learn.history import Job, Label, job_of
from diagnose.model.library import Library
from diagnose.model.story import FADED

__all__ = ["Taken", "job_from", "job_in", "jobs_of"]

#: Last words by which a complaint is taken as gone, and as there.
GONE, THERE = frozenset({"no", "probably-not"}), frozenset({"yes", "probably", FADED})


@dataclass(frozen=True)
class Taken:
    """What a journal gave to learn from.

    jobs: in order. named: job id -> what was taken from it, in words. left_out: job id -> why not.
    """

    jobs: tuple[Job, ...]
    named: dict[str, str]
    left_out: dict[str, str]


def jobs_of(library: Library, journal: Journal) -> Taken:
    """Every closed job of the store that the library can make something of. Raises JournalError."""
    jobs: list[Job] = []
    named: dict[str, str] = {}
    left_out: dict[str, str] = {}
    for row in journal.jobs():
        found = job_from(library, fold(journal.events(row.id)))
        if isinstance(found, str):
            left_out[row.id] = found
        else:
            jobs.append(found[0])
            named[row.id] = found[1]
    return Taken(tuple(jobs), named, left_out)


def job_from(library: Library, state: JobState) -> tuple[Job, str] | str:
    """The job, and what it says of its cause in words; or why it says nothing."""
    if state.closed is None:
        return "still open"
    story = known_story(library, state)
    if not story.heard:
        return "no complaint that these trees know"
    if all(heard.answer in ("no", "probably-not", "cannot-tell") for heard in story.heard):
        return "its complaint was not found on the car"
    label, words = _label(library, state)
    return Job(replace(story.vehicle, name=""), story.heard, story.seen, label), words


def job_in(library: Library, case: Case) -> Job:
    """The closed job in a case file: by what was confirmed, else by its rounds, if it has any."""
    job = job_of(case)
    if case.confirmed is not None or not case.rounds:
        return job
    label, _ = _label(library, fold(entries_of(library, case)))
    return replace(job, label=label)


def _label(library: Library, state: JobState) -> tuple[Label | None, str]:
    """What the last drives say of what was put right."""
    if not state.rounds:
        return None, "the cause stayed hidden: no repair was told"
    said = _last_words(state)
    if len(said) < len(state.complaints) or not all(each in GONE | THERE for each in said.values()):
        return None, "the cause stayed hidden: nobody told how it drove after the repair"
    ends = [_place(end) for one in state.rounds for repair in one.repairs for end in repair.ends]
    known: list[tuple[str, str | None]] = [each for each in dict.fromkeys(ends) if each[0] in library.faults]
    if any(each in THERE for each in said.values()):
        return Label(tuple(known), cured=False), "not cured: what was put right was not all of it"
    last = max(n for n, one in enumerate(state.rounds) if not one.later)
    acted = [
        state.rounds[last],
        *(one for n, one in enumerate(state.rounds[:last]) if _faded(state, n, last)),
    ]
    causes: list[tuple[str, str | None]] = []
    for one in acted:
        found = _one_fault(library, one)
        if found is None or found[0] not in library.faults:
            return None, "the cause stayed hidden: several things were put right together"
        causes.append(found)
    return Label(tuple(dict.fromkeys(causes))), "cured, its cause confirmed"


def _last_words(state: JobState) -> dict[str, str]:
    """Complaint -> what was said of it last after a repair."""
    last = max(n for n, one in enumerate(state.rounds) if not one.later)
    found: dict[str, str] = {}
    for one in state.rounds[last:]:
        found |= _words(one.complaints)
    return found


def _words(complaints: Iterable[Heard]) -> dict[str, str]:
    told = {each.complaint: each.road_test or each.driver for each in complaints}
    return {complaint: answer for complaint, answer in told.items() if answer and answer != "cannot-tell"}


def _faded(state: JobState, number: int, last: int) -> bool:
    """True if a complaint had faded after the repairs of this round, before the next ones."""
    if not state.rounds[number].repairs:
        return False
    after = [state.rounds[number]]
    for one in state.rounds[number + 1 : last]:
        if not one.later:
            break
        after.append(one)
    return any(FADED in _words(one.complaints).values() for one in after)


def _one_fault(library: Library, one: RoundState) -> tuple[str, str | None] | None:
    """The one fault that a round was meant to put right, its place where it is one; None if it may have been
    several. What comes along with a remedy (a toe set afterwards, the bushes of a new arm) is not meant."""
    places = [_place(end) for repair in one.repairs for end in meant_for(library, repair)]
    faults = dict.fromkeys(fault for fault, _ in places)
    if len(faults) != 1:
        return None
    (fault,) = faults
    where = dict.fromkeys(place for _, place in places)
    # Of a pair that was renewed together nobody knows which one it was.
    return fault, next(iter(where)) if len(where) == 1 else None


def _place(end: str) -> tuple[str, str]:
    fault, _, position = end.partition("@")
    return fault, position
