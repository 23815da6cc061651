"""What to do next, and why: one check, a cure, or handing the job on.

0. What would spoil the checks after it, such as wrong tyre pressures. Then, while he is there, a few
   questions to the driver that tell something.
1. A check that pays by itself: the one that saves most for its cost.
2. Where the only other way is to hand the job on, a check that earns a fair part of its cost: a step or
   two ahead do not show all that later checks will make of it.
3. Where none pays and no cure is as good as found, several checks that pay together.
4. Else the cure that the best course begins with, or handing on.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from diagnose.belief.belief import Belief
from diagnose.belief.narrow import for_looking
from diagnose.choice.cost import Cures
from diagnose.choice.lookahead import Look, Proposal, look_ahead
from diagnose.choice.together import Together, best_together
from diagnose.model.check import TALK
from diagnose.model.story import Workshop

__all__ = ["FAIR_PART", "MOST_QUESTIONS", "Decision", "decide"]

#: Part of its cost that a check must save to be done before the job is handed on unsolved (estimate).
FAIR_PART = 0.2

#: Part of the cost still to come that a check must save alone to be done without a look at several together
#: (estimate).
SURELY_PAYS = 0.05

#: Questions put to the driver before the car is looked at, so that the talk stays short.
MOST_QUESTIONS = 4


@dataclass(frozen=True)
class Decision:
    """What to do next. check: the check to do, or None: then `cure` (an index), or handing on.

    because: "first" (it would spoil the rest), "asks" (the driver is there), "pays", "with another" (others
    may follow), or "unsolved" (it does not pay for itself, but the job would be handed on unsolved).
    """

    look: Look
    check: Proposal | None
    cure: int | None
    because: str


def decide(
    belief: Belief, cures: Cures, workshop: Workshop, set_up: str, done: Collection[str] = ()
) -> Decision:
    """What to do next from this belief, with the car in this set-up and these checks done."""
    library = belief.car.library
    belief = for_looking(belief)
    look = look_ahead(belief, cures, workshop, set_up, done)
    if not look.proposals:
        return Decision(look, None, look.cure, "")
    spoils = next((p for p in look.proposals if library.checks[p.check].first and p.rate >= FAIR_PART), None)
    if spoils is not None:
        return Decision(look, spoils, None, "first")
    asked = sum(1 for name in done if library.checks[name].set_up == TALK)
    if set_up == TALK and asked < MOST_QUESTIONS and not belief.car.cured:
        asks = [p for p in look.proposals if library.checks[p.check].set_up == TALK and p.merit > 0.0]
        if asks:
            return Decision(look, asks[0], None, "asks")
    most = max(each.saving for each in look.proposals)
    # Against handing on, what one or two steps ahead show is not all: a fair part of the cost will do.
    fair = max(look.proposals, key=lambda each: (round(each.rate, 9), each.check))
    # Of two checks left, or one, the policies below show all.
    more = len(look.proposals) > 2
    if more and most <= 0.0 and look.cure is None and fair.rate >= FAIR_PART:
        return Decision(look, fair, None, "unsolved")
    if most <= 0.0 and look.cure is not None and look.found:
        return Decision(look, None, look.cure, "")
    several = Together()
    if most < SURELY_PAYS * look.now:
        several = best_together(belief, cures, workshop, set_up, look)
    if most > 0.0 and several.saving <= most * (1.0 + 1e-9):
        return Decision(look, look.proposals[0], None, "pays")
    if several.check is not None:
        return Decision(look, several.check, None, "with another")
    if several.cure is not None:
        return Decision(look, None, several.cure, "")
    return Decision(look, None, look.cure, "")
