"""Which check to do next, or which cure to carry out: what costs least, one step ahead.

For every check worth considering: what it can show, how likely each outcome is, and what curing from there
would cost. For the cure that the best course begins with: what it would cost to carry it out first and to
look further only if the complaint is still there.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from diagnose.belief.belief import Belief, Car
from diagnose.belief.tables import Numbers
from diagnose.choice.cost import OVERHEAD, Cures, change_minutes, check_minutes, possible
from diagnose.choice.course import Course
from diagnose.choice.outcomes import (
    Candidate,
    Outcome,
    Table,
    answered_by,
    left_open,
    look_at,
    stacked,
)
from diagnose.choice.shortlist import promising
from diagnose.model.check import TALK
from diagnose.model.story import Story, Workshop

__all__ = ["MINUTES_PER_BIT", "Look", "Proposal", "candidates_of", "look_ahead"]

#: How many checks are looked at exactly; the others are ranked out by what they can tell per minute.
CONSIDERED = 12

#: Minutes of later looking that each bit told about the culprit saves (estimate: what the checks of the
#: shipped library yield, set-ups shared). It orders the checks and never makes one pay by itself.
MINUTES_PER_BIT = 6.0

#: Share of the blame from which on one cure is as good as found: then only a check that pays by itself comes
#: before it, for what several might still save together is within the error of the figures (estimate).
SURE = 0.8

#: So many cures are thought of as a first step, from this share of the blame on.
CURES_TRIED = 6
TRIED_FROM = 0.02


@dataclass(frozen=True, eq=False)
class Proposal:
    """A check with its worth. Minutes include the change of set-up from where the car is now.

    cost: expected money from here to the end if it is done next and nothing more is looked at after it.
    saving: how much less that is than without looking; may be negative. saving_minutes: the same in
    minutes of labour. told: minutes of later looking that it saves by what it tells of the culprit.
    table: what it may show and what would then be believed of these `causes` (numbers), out of `among`.
    after: for each outcome, the expected money from there on.
    """

    check: str
    minutes: float
    change: float
    cost: float
    saving: float
    saving_minutes: float
    told: float
    table: Table
    causes: Numbers
    among: int
    after: tuple[float, ...]

    @cached_property
    def outcomes(self) -> tuple[Outcome, ...]:
        """What it may show."""
        return self.table.outcomes(self.causes, self.among)

    @property
    def merit(self) -> float:
        """Minutes that it saves, later looking among them, its own taken off."""
        return self.saving_minutes + self.told

    @property
    def rate(self) -> float:
        """What it saves before its own cost, as a multiple of that cost (above 1: it pays)."""
        cost = self.minutes + OVERHEAD
        return (self.merit + cost) / cost


@dataclass(frozen=True)
class Look:
    """What may be done next. course: the best one with no more looking. first: a cure (index) that is
    better carried out before anything is looked at, with looking only if the complaint is still there; at
    cure_first expected money. proposals: the checks, the best first. found: the
    cure most to blame has most of the blame (`SURE`), and its part is sound so seldom that trying it costs
    no more than the drive to see.
    """

    course: Course
    first: int | None
    cure_first: float
    proposals: tuple[Proposal, ...]
    found: bool = False

    @property
    def now(self) -> float:
        """Expected money of the best that can be done without a check first."""
        return min(self.course.cost, self.cure_first)

    @property
    def cure(self) -> int | None:
        """The cure (index) to carry out next, if nothing is looked at first; None: hand the job on."""
        if self.first is not None and self.cure_first < self.course.cost:
            return self.first
        return self.course.order[0] if self.course.order else None


def candidates_of(
    car: Car, story: Story, workshop: Workshop, done: Collection[str], only: Collection[str] | None = None
) -> list[Candidate]:
    """Checks that this workshop can do, not done yet, that can tell something; `only` narrows them."""
    # The driver is asked what the complaints told list; questions of other complaints would puzzle him.
    asked = {name for each in car.complaints for name in car.library.complaints[each].questions}
    found: list[Candidate] = []
    answered = answered_by(story)
    for check in car.checks.values():
        if check.id in done or (only is not None and check.id not in only) or not possible(check, workshop):
            continue
        if check.set_up == TALK and check.id not in asked:
            continue
        spots = left_open(car, answered, check)
        if spots:
            found.append((check, spots))
    return found


def look_ahead(
    belief: Belief,
    cures: Cures,
    workshop: Workshop,
    set_up: str,
    done: Collection[str] = (),
    only: Collection[str] | None = None,
    most: int = CONSIDERED,
) -> Look:
    """What may be done next from this belief, with the car in this set-up."""
    library = belief.car.library
    candidates = candidates_of(belief.car, belief.story, workshop, done, only)
    candidates = promising(belief, candidates, set_up, most)
    few = cures.of(belief.car.suspects())
    tables = look_at(belief, candidates, few.causes)
    present, blame = belief.present[None, few.causes], belief.to_blame[None, few.causes]
    one = few.prospects(present, blame, np.array([belief.outside]), np.array([belief.there]))
    danger = float(few.danger(present, blame)[0])
    course = one.course(few.prices)
    order = tuple(int(few.numbers[cure]) for cure in course.order)
    course = replace(course, order=order, cost=course.cost + danger)
    sound = few.money * (1.0 - few.any(present)[0])
    found = bool(np.any((one.blame[0] >= SURE) & (sound <= few.prices.drive)))
    if not tables:
        return Look(course, None, np.inf, (), found)
    rows, starts = stacked(tables)
    p = rows.p
    every = few.prospects(rows.present, rows.blame, rows.outside, rows.there)
    dangers = few.danger(rows.present, rows.blame)
    costs = every.costs(few.prices) + dangers
    after = np.add.reduceat(p * costs, starts)
    first, cure_first = None, np.inf
    looks = np.array([check_minutes(library, check, TALK) + OVERHEAD for check, _ in candidates])
    looks = workshop.labour(1.0) * looks
    likely = np.argsort(-np.round(one.blame[0], 9), kind="stable")[:CURES_TRIED]
    for cure in [int(n) for n in likely if one.blame[0, n] > TRIED_FROM]:
        # The drive shows whether the cure did it; only if not is there anything left to do.
        left, then = every.failed(cure)
        looked = np.add.reduceat(p * (left * then.costs(few.prices) + dangers), starts)
        looked = looked + looks * np.add.reduceat(p * left, starts)
        alone, after_it = one.failed(cure)
        rest = float(alone[0] * after_it.costs(few.prices)[0]) + danger
        cost = sound[cure] + few.prices.drive + min(float(looked.min()), rest)
        if cost < cure_first * (1.0 - 1e-9):
            first, cure_first = int(few.numbers[cure]), float(cost)
    told = one.doubt()[0] - np.add.reduceat(p * every.doubt(), starts)
    now = min(course.cost, cure_first)
    proposals = []
    for number, (check, _) in enumerate(candidates):
        table, start = tables[number], int(starts[number])
        minutes = check_minutes(library, check, set_up)
        cost = float(after[number]) + workshop.labour(minutes + OVERHEAD)
        proposals.append(
            Proposal(
                check.id,
                minutes,
                change_minutes(library, check, set_up),
                cost,
                now - cost,
                workshop.minutes(now - cost),
                float(told[number]) * MINUTES_PER_BIT,
                table,
                few.causes,
                len(belief.causes),
                tuple(costs[start : start + len(table.p)].tolist()),
            )
        )
    proposals.sort(key=lambda each: (each.rate <= 1.0, -round(each.rate, 9), each.minutes, each.check))
    return Look(course, first, cure_first, tuple(proposals), found)
