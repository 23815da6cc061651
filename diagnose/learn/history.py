"""Closed jobs as plain values: the car, what was told and seen, and what it turned out to be.

Nothing here says whose car it was: name, plate and words of the driver are left behind.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnose.job.case import Case
from diagnose.model.story import Heard, Seen, Story
from diagnose.model.vehicle import Vehicle

__all__ = ["Group", "Job", "Label", "grouped", "job_of", "split"]


@dataclass(frozen=True, slots=True)
class Label:
    """What the workshop put right, and whether that was it.

    causes: (fault, position, or None where that is not known). outside: something that no tree lists was
    part of it. cured: the complaint was gone afterwards; if not, those causes were not (all of) it.
    """

    causes: tuple[tuple[str, str | None], ...]
    outside: bool = False
    cured: bool = True


@dataclass(frozen=True, slots=True)
class Job:
    """One closed job. label: None if the cause stayed hidden, such as a car that went elsewhere."""

    vehicle: Vehicle
    heard: tuple[Heard, ...]
    seen: tuple[Seen, ...] = ()
    label: Label | None = None

    @property
    def story(self) -> Story:
        """What a belief about the car rests on, without what it turned out to be."""
        return Story(self.vehicle, self.heard, self.seen)


@dataclass(frozen=True)
class Group:
    """Jobs on like cars with the same complaint, so that they share one model.

    kinds: each distinct list of answers with its label, `counts` how many jobs were of that kind.
    """

    vehicle: Vehicle
    heard: tuple[Heard, ...]
    kinds: tuple[tuple[tuple[Seen, ...], Label | None], ...]
    counts: tuple[int, ...]


def job_of(case: Case) -> Job:
    """The closed job in a case file; without `confirmed`, or with an empty one, its cause stayed hidden.

    A journal records what was concluded, not whether that was it; who knows that builds a `Job` with its
    `Label` likewise.
    """
    story, confirmed = case.story, case.confirmed
    label = None
    if confirmed is not None and (confirmed.causes or confirmed.outside):
        label = Label(tuple(dict.fromkeys(confirmed.causes)), bool(confirmed.outside))
    return Job(replace(story.vehicle, name=""), story.heard, story.seen, label)


def grouped(jobs: Iterable[Job]) -> list[Group]:
    """The jobs in groups, in the order in which each first came."""
    found: dict[Hashable, tuple[Job, dict[tuple[tuple[Seen, ...], Label | None], int]]] = {}
    for job in jobs:
        car = job.vehicle
        facts, conditions = tuple(sorted(car.facts.items())), tuple(sorted(car.conditions.items()))
        name = (facts, conditions, car.km, car.years, car.renewed, job.heard)
        kinds = found.setdefault(name, (job, {}))[1]
        kinds[job.seen, job.label] = kinds.get((job.seen, job.label), 0) + 1
    return [
        Group(first.vehicle, first.heard, tuple(kinds), tuple(kinds.values()))
        for first, kinds in found.values()
    ]


def split(jobs: Sequence[Job], held_out: float, seed: int) -> tuple[list[Job], list[Job]]:
    """The jobs to learn from, and a share of them (0 to 1) to score by, drawn by a seed."""
    order = np.random.default_rng(seed).permutation(len(jobs))
    apart = set(order[: round(held_out * len(jobs))].tolist())
    learn = [job for number, job in enumerate(jobs) if number not in apart]
    return learn, [jobs[number] for number in sorted(apart)]
