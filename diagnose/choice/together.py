"""Several checks that may follow one another: the best policy over a few of them, worked out in full.

One step ahead is blind where two checks only tell together, where a set-up pays only for three, and where
the order of two is decided by a third. So for the few cheapest courses of action every combination of
outcomes is looked at, and the least expected cost is found backwards over all orders in which they may be
done, stopped, or interrupted by trying a cure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from types import EllipsisType

import numpy as np

from diagnose.belief.belief import Belief
from diagnose.belief.tables import Array
from diagnose.choice.cost import OVERHEAD, Cures, check_minutes, set_up_after
from diagnose.choice.lookahead import CURES_TRIED, TRIED_FROM, Look, Proposal
from diagnose.choice.outcomes import Joint, columns_together, look_at_together, open_spots
from diagnose.model.check import TALK, Check
from diagnose.model.story import Workshop

__all__ = ["LEAST_SAVED", "Together", "best_together"]

#: Minutes that several checks together must save: less is within the error of the figures (estimate).
LEAST_SAVED = 0.2

#: Part of what several checks save within which it does not matter which of them begins: the one that saves
#: most for its cost alone then does (estimate; over simulated cars it makes no difference to the cost).
ALIKE = 0.05

#: Checks taken together at most, and the columns that they may need.
MOST, COLUMNS = 5, 200


@dataclass(frozen=True, slots=True)
class Together:
    """What several checks make of it.

    check: the one to begin with, its cost and saving those of the whole policy; None where it is better to
    cure first, or where no such policy saves anything. cure: the cure (index) to carry out first, if the best
    policy begins with one and looks on if it fails; else None. saving: expected money that the one or the
    other saves against what one step ahead shows.
    """

    check: Proposal | None = None
    cure: int | None = None
    saving: float = 0.0


def best_together(belief: Belief, cures: Cures, workshop: Workshop, set_up: str, look: Look) -> Together:
    """How to begin if a few checks may follow one another, with cures tried in between."""
    chosen = _chosen(belief, look)
    if len(chosen) < 2:
        return Together()
    checks = [belief.car.library.checks[each.check] for each in chosen]
    few = cures.of(belief.car.suspects())
    joint = look_at_together(belief, [open_spots(belief, check) for check in checks], few.causes)
    policies = _Policies(belief, few, workshop, checks, joint)
    costs = policies.first(set_up)
    cure_first, tried = policies.cure_first()
    cure = None if tried is None else int(few.numbers[tried])
    least = workshop.labour(LEAST_SAVED)
    lowest = min(costs)
    by_looking = min(look.now, cure_first) - lowest
    if by_looking > least:
        near = [n for n, cost in enumerate(costs) if cost <= lowest + ALIKE * by_looking]
        best = max(near, key=lambda n: (round(chosen[n].rate, 9), chosen[n].check))
        saving = look.now - costs[best]
        saved = workshop.minutes(saving)
        return Together(
            replace(chosen[best], cost=costs[best], saving=saving, saving_minutes=saved), None, saving
        )
    saving = look.now - cure_first
    return Together(None, cure, saving) if saving > least else Together()


def _chosen(belief: Belief, look: Look) -> list[Proposal]:
    """The cheapest courses of action, as many as fit."""
    found: list[Proposal] = []
    columns = 1
    for each in sorted(look.proposals, key=lambda each: (round(each.cost, 6), each.check)):
        check = belief.car.library.checks[each.check]
        wider = columns * columns_together(belief, open_spots(belief, check))
        if wider <= COLUMNS:
            columns = wider
            found.append(each)
        if len(found) == MOST:
            break
    return found


class _Policies:
    """Least expected money, backwards. All money is weighed with the probability of its cell."""

    def __init__(
        self, belief: Belief, cures: Cures, workshop: Workshop, checks: Sequence[Check], joint: Joint
    ) -> None:
        self.library, self.workshop, self.checks, self.joint = belief.car.library, workshop, checks, joint
        self._money: dict[str, list[float]] = {}
        rows, prices = joint.rows, cures.prices
        every = cures.prospects(rows.present, rows.blame, rows.outside, rows.there)
        danger = cures.danger(rows.present, rows.blame)
        self.p = self._cells(rows.p)
        #: For each cell the least money if no check is done before the first cure.
        self.stop = self._cells(rows.p * (every.costs(prices) + danger))
        #: Money from the start if each of the likely cures comes first.
        self.tried: dict[int, float] = {}
        blame = cures.any(belief.to_blame[None, cures.causes])[0]
        order = np.argsort(-np.round(blame, 9), kind="stable")[:CURES_TRIED]
        likely = [int(n) for n in order if every.blame[:, n].max() > TRIED_FROM]
        if not likely:
            return
        failed, still = [], []
        for cure in likely:
            left, then = every.failed(cure)
            failed.append(rows.p * (left * then.costs(prices) + danger))
            still.append(rows.p * left)
        # Only if the complaint is still there is anything looked at after it, and the car is away then.
        onwards = self._all(self._cells(np.array(failed)), self._cells(np.array(still)), TALK)
        sound = cures.money[likely] * (1.0 - cures.any(rows.present)[:, likely])
        tried = self._cells(rows.p * (sound.T + prices.drive))
        for done, worth in onwards.items():
            at = self._at(done)
            tried[at] += worth
        self.tried = dict(zip(likely, tried[self._at(frozenset())].tolist(), strict=True))
        self.stop = np.minimum(self.stop, tried.min(axis=0))

    def first(self, set_up: str) -> list[float]:
        """Expected money if each of the checks is done first, from this set-up."""
        worth = self._backwards(self.stop, self.p, set_up)
        looks = self._looks(set_up)
        return [
            looks[n] + float(worth[frozenset((n,)), set_up_after(check, set_up)].sum())
            for n, check in enumerate(self.checks)
        ]

    def cure_first(self) -> tuple[float, int | None]:
        """Expected money if a cure comes first, with checks after it only if it fails; and which cure."""
        if not self.tried:
            return np.inf, None
        cure = min(self.tried, key=lambda each: (round(self.tried[each], 6), each))
        return self.tried[cure], cure

    def _all(self, stop: Array, p: Array, set_up: str) -> dict[frozenset[int], Array]:
        """The least money for the cells of every set of checks done, the car in this set-up."""
        worth = self._backwards(stop, p, set_up)
        worth[frozenset(), set_up] = self._worth(frozenset(), set_up, stop, p, worth, {})
        return {done: least for (done, here), least in worth.items() if here == set_up}

    def _backwards(self, stop: Array, p: Array, set_up: str) -> dict[tuple[frozenset[int], str], Array]:
        """(checks done, set-up) -> for each of their outcomes the least money from there.

        stop, p: as the cells stand, the last axes those of the checks.
        """
        worth: dict[tuple[frozenset[int], str], Array] = {}
        everything = range(len(self.checks))
        starts = sorted({set_up, *(set_up_after(check, set_up) for check in self.checks)})
        for size in range(len(self.checks), 0, -1):
            for done in combinations(everything, size):
                # Most set-ups lead to the same next one.
                onwards: dict[tuple[int, str], Array] = {}
                for here in starts:
                    worth[frozenset(done), here] = self._worth(frozenset(done), here, stop, p, worth, onwards)
        return worth

    def _worth(
        self,
        done: frozenset[int],
        here: str,
        stop: Array,
        p: Array,
        worth: Mapping[tuple[frozenset[int], str], Array],
        onwards: dict[tuple[int, str], Array],
    ) -> Array:
        """The least money once these checks are done. onwards: (the next check, the set-up after it) -> money
        from there, as far as it is known."""
        at = self._at(done)
        best, chance, looks = stop[at], p[at], self._looks(here)
        for n, check in enumerate(self.checks):
            if n not in done:
                then = n, set_up_after(check, here)
                if then not in onwards:
                    place = sorted(done | {n}).index(n) - len(done) - 1
                    onwards[then] = worth[done | {n}, then[1]].sum(axis=place)
                best = np.minimum(best, looks[n] * chance + onwards[then])
        return best

    def _looks(self, set_up: str) -> list[float]:
        """Money for each check from this set-up."""
        if set_up not in self._money:
            self._money[set_up] = [
                self.workshop.labour(check_minutes(self.library, check, set_up) + OVERHEAD)
                for check in self.checks
            ]
        return self._money[set_up]

    def _at(self, done: frozenset[int]) -> tuple[slice | int | EllipsisType, ...]:
        """Where the cells stand in which just these checks were done."""
        return (..., *(slice(0, -1) if n in done else -1 for n in range(len(self.checks))))

    def _cells(self, values: Array) -> Array:
        result: Array = np.where(self.joint.cells >= 0, values[..., self.joint.cells], 0.0)
        return result
