"""A visit: checks to do one after the other as long as nothing is found, and where to stop.

One check alone may not pay where several do together: each is cheap once the car is in its set-up, and
each that shows nothing leaves more for the next. So a chain of checks is followed along the outcome that
nothing is seen; whatever is seen ends it, and so does a next check that would not pay.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from diagnose.belief.belief import Belief
from diagnose.choice.cost import OVERHEAD, Cures
from diagnose.choice.lookahead import Look, Proposal, look_ahead
from diagnose.choice.outcomes import answers_of, open_spots
from diagnose.model.story import Workshop

__all__ = ["Leg", "Visit", "plan_visit"]

#: The most checks of one visit.
MOST_LEGS = 4


@dataclass(frozen=True, slots=True)
class Leg:
    """One check of a visit. minutes: its own with the change of set-up before it. reached: P(all before it
    showed nothing)."""

    check: str
    minutes: float
    change: float
    reached: float


@dataclass(frozen=True, slots=True)
class Visit:
    """Checks in order, each done only if none before it has shown anything. cost: expected money from here
    to the end if it is followed; saving: how much less that is than without looking."""

    legs: tuple[Leg, ...]
    cost: float
    saving: float


def plan_visit(
    belief: Belief,
    cures: Cures,
    workshop: Workshop,
    done: Collection[str],
    look: Look,
    first: Proposal,
    names: Collection[str],
    most: int = MOST_LEGS,
) -> Visit:
    """The visit that begins with this check and goes on with others of these names (ids of checks)."""
    cost, legs = _follow(belief, cures, workshop, tuple(done), look, first, frozenset(names), 1.0, most)
    return Visit(legs, cost, look.now - cost)


def _follow(
    belief: Belief,
    cures: Cures,
    workshop: Workshop,
    done: tuple[str, ...],
    look: Look,
    step: Proposal,
    names: frozenset[str],
    reached: float,
    most: int,
) -> tuple[float, tuple[Leg, ...]]:
    """Expected money from the check on, and the legs from it on."""
    leg = Leg(step.check, step.minutes, step.change, reached)
    cost = workshop.labour(step.minutes + OVERHEAD)
    rest: tuple[Leg, ...] = ()
    for outcome, alone in zip(step.outcomes, step.after, strict=True):
        onwards = alone
        names_left = names - {step.check}
        if outcome.level == 0 and most > 1 and names_left:
            check = belief.car.library.checks[step.check]
            answers = answers_of(belief, open_spots(belief, check), outcome)
            then = belief.seeing(answers)
            now_done = (*done, step.check)
            further = look_ahead(then, cures, workshop, check.set_up, now_done, names_left)
            if further.proposals:
                # What pays most for its cost comes next, though none may pay alone.
                best = max(
                    further.proposals,
                    key=lambda each: (each.saving_minutes / (each.minutes + OVERHEAD), each.check),
                )
                worth, legs = _follow(
                    then,
                    cures,
                    workshop,
                    now_done,
                    further,
                    best,
                    names_left,
                    reached * outcome.probability,
                    most - 1,
                )
                if worth < min(further.now, onwards):
                    onwards, rest = worth, legs
        cost += outcome.probability * onwards
    return cost, (leg, *rest)
