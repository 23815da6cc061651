"""What it costs to cure from here: cures carried out one after the other, the car driven after each.

Nothing more is looked at. Of the cures that may end the complaint, each is tried in its turn and the car
is driven to see whether the complaint has gone; where no further cure is worth trying, the job is handed
on unsolved. A part that really was bad is paid for on any course, so its price counts in none: what
counts is the money for parts that were sound, the drives, and the handing on.

Several faults may raise the complaint at once. They are taken as independent events, each with a chance
to act, of which at least one did: with the posterior shares of blame b_k and o (outside the trees),

    b_k = a_k / A,    A = 1 - (1 - a_o) * product of (1 - a_k)  =  P(one of them acts),

which fixes A: near 0 the faults exclude each other (one fault), near 1 they do not care about each other.
The complaint outlives the cures of a set S with probability (1 - product over the others of (1 - a)) / A.
So the rule is odds over cost (S. Srinivas, A polynomial algorithm for computing the optimal repair
strategy in a system with independent component failures, UAI 1995), which becomes likelihood over cost
where only one fault can be behind it; the end is found as in V. Lin, Scheduling results applicable to
decision-theoretic troubleshooting (2014), by comparing with handing on.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from diagnose.belief.tables import Array

__all__ = ["Course", "Prices", "Prospects", "how_many"]

Numbers = NDArray[np.intp]

#: Shares of blame below this are left out of a course.
NOTHING = 1e-4

#: Steps towards A at most, and the change after which it is near enough. Where the shares sum to 1, each step
#: only halves it: below `LEAST_ACTING` the faults exclude each other for all that follows.
STEPS, CLOSE_ENOUGH, LEAST_ACTING = 20, 1e-7, 1e-5

#: Shares that say nothing of how many act.
NO_SHARE = 1e-8

#: A certain event has infinite odds: shares go no higher than this.
SURE = 1.0 - 1e-9


@dataclass(frozen=True, slots=True)
class Prices:
    """money: shape (K,), of each cure. drive: of one drive to see. unsolved: of handing the job on."""

    money: Array
    drive: float
    unsolved: float


@dataclass(frozen=True, slots=True)
class Course:
    """The best course for one belief.

    order: numbers of the cures to carry out, in order. left: shape (len(order) + 1,), P(the complaint is
    still there) at first and after each of them. cost: expected, in money.
    """

    order: tuple[int, ...]
    left: Array
    cost: float


def how_many(blame: Array, outside: Array) -> Array:
    """A in 0..1, shape (C,): P(at least one acts) that fits these shares.

    blame: shape (C, K) and outside: shape (C,), shares that sum to 1 at least. By Newton's rule from A = 1
    down: P(at least one) less A is concave in A, so that no step goes past the root.
    """
    every = np.minimum(np.concatenate([blame, outside[:, None]], axis=1), SURE)
    every = every[:, every.max(axis=0, initial=0.0) > NO_SHARE]
    found = np.ones(len(blame))
    for _ in range(STEPS):
        not_acting = 1.0 - every * found[:, None]
        none = not_acting.prod(axis=1)
        slope = none * (every / not_acting).sum(axis=1) - 1.0
        # At the end of the rows that are there already the slope may be 0.
        step = np.where(slope < 0.0, (1.0 - none - found) / np.minimum(slope, -1e-12), 0.0)
        found = np.clip(found - step, LEAST_ACTING, 1.0)
        if float(np.abs(step).max(initial=0.0)) < CLOSE_ENOUGH:
            break
    return found


class Prospects:
    """What may be behind the complaint, for some beliefs at once, as far as cures are concerned.

    there: shape (C,), P(the complaint is there). blame: shape (C, K), given that it is, P(what a cure ends
    acts). worn: shape (C, K), P(it is there and does not act), whatever the others do. outside: shape (C,),
    P(a cause outside the trees acts, given that the complaint is there). acting: shape (C,), the A above.
    """

    def __init__(self, blame: Array, worn: Array, outside: Array, there: Array, acting: Array) -> None:
        self.blame, self.worn, self.outside = blame, worn, outside
        self.there, self.acting = there, acting

    @classmethod
    def of(cls, blame: Array, present: Array, outside: Array, there: Array) -> Prospects:
        """From posteriors: blame, present of shape (C, K), outside, there of shape (C,); none is given
        that the complaint is there."""
        silent = np.maximum(present - blame, 0.0)
        there = np.clip(there, 1e-9, 1.0)
        # The shares must sum to 1 at least: where they do not, one of them acts in what is left.
        scale = 1.0 / np.maximum(np.minimum(blame.sum(axis=1) + outside, there), 1e-9)
        blame = np.minimum(blame * scale[:, None], SURE)
        outside = np.minimum(outside * scale, SURE)
        acting = how_many(blame, outside)
        # Worn without acting: if the complaint is there, then one of the others raises it.
        a = blame * acting[:, None]
        quiet = np.log1p(-a)
        others = quiet.sum(axis=1, keepdims=True) - quiet + np.log1p(-outside * acting)[:, None]
        seen = there[:, None] * -np.expm1(others) / acting[:, None] + (1.0 - there[:, None]) / (1.0 - a)
        worn = np.minimum(silent / np.maximum(seen, 1e-9), 1.0 - a)
        return cls(blame, worn, outside, there, acting)

    def failed(self, cure: int) -> tuple[Array, Prospects]:
        """P(the complaint is still there once this cure was carried out), shape (C,), and what is left."""
        each, all_of_them = self._silent
        any_acts = np.maximum(-np.expm1(all_of_them - each[:, cure]), 1e-12)
        share = self.acting / any_acts
        blame = np.minimum(self.blame * share[:, None], SURE)
        blame[:, cure] = 0.0
        outside = np.minimum(self.outside * share, SURE)
        left = np.minimum(self.there * any_acts / self.acting, self.there)
        return left, Prospects(blame, self.worn, outside, np.ones(len(blame)), any_acts)

    @cached_property
    def _silent(self) -> tuple[Array, Array]:
        """Log of P(what a cure ends does not act), shape (C, K), and of P(nothing acts), shape (C,)."""
        each = np.log1p(-self.blame * self.acting[:, None])
        return each, each.sum(axis=1) + np.log1p(-self.outside * self.acting)

    def doubt(self) -> Array:
        """Doubt about the culprit in bits, shape (C,): the entropy of the blame shared out."""
        share = np.concatenate([self.blame, np.maximum(self.outside, 1e-9)[:, None]], axis=1)
        share = share / share.sum(axis=1, keepdims=True)
        bits: Array = -(share * np.log2(np.maximum(share, 1e-12))).sum(axis=1) * self.there
        return bits

    def costs(self, prices: Prices) -> Array:
        """Expected cost of the best course, shape (C,)."""
        _, _, costs = self._courses(prices)
        best: Array = costs.min(axis=1)
        return best

    def course(self, prices: Prices) -> Course:
        """The best course of the first row."""
        order, left, costs = self._courses(prices)
        end = int(costs[0].argmin())
        return Course(
            tuple(int(n) for n in order[0, :end]),
            left[0, : end + 1] * self.there[0],
            float(costs[0, end]),
        )

    def _courses(self, prices: Prices) -> tuple[Numbers, Array, Array]:
        """For each row the order of the cures that may be in its best course; P(still there) after each
        number of them, given that it is there at first; and the expected cost if it ends there.

        Shapes (C, T), (C, T + 1), (C, T + 1), for the row with most of them; the others end in places that
        stand for none, at the cost of a drive.
        """
        a, there = self.blame * self.acting[:, None], self.there[:, None]
        neither = np.maximum(1.0 - a - self.worn, 0.0)
        # Odds over money * neither / (1 - a) + drive: the same order.
        rank = a / (prices.money * neither + prices.drive)
        outside = self.outside * self.acting
        tried = (rank > _least_rank(outside, prices)[:, None]) & (self.blame > NOTHING)
        # The others may raise the complaint all the same.
        rest = (1.0 - outside) * np.where(tried, 1.0, 1.0 - a).prod(axis=1)
        order, none = _highest(rank, tried)
        places = order + np.arange(len(a))[:, None] * a.shape[1]
        a, neither = (np.where(none, 0.0, values.take(places)) for values in (a, neither))
        # P(neither it acts nor one after it), of each; the last: of those that are not tried.
        silent = np.concatenate([1.0 - a, rest[:, None]], axis=1)[:, ::-1].cumprod(axis=1)[:, ::-1]
        left = np.clip((1.0 - silent) / self.acting[:, None], 0.0, 1.0)
        left[:, 0] = 1.0
        driven = left[:, :-1] * there
        # Sound when its turn comes: neither acts nor is worn, and another one raises the complaint.
        sound = neither * left[:, 1:] * there
        # The first cure is tried even where the driver was mistaken and no complaint is there.
        driven[:, :1] += 1.0 - there
        sound[:, :1] += (1.0 - there) * neither[:, :1] / (1.0 - a[:, :1])
        costs = prices.unsolved * left * there
        costs[:, 1:] += (prices.money.take(order) * sound + prices.drive * driven).cumsum(axis=1)
        return order, left, costs


def _least_rank(outside: Array, prices: Prices) -> Array:
    """The rank (a over money * neither + drive) that a cure must have to be worth trying, shape (C,).

    outside: P(a cause outside the trees acts). Be r = P(one of those after it acts, or one outside); then it
    takes unsolved * a * (1 - r) off the handing on and costs money * neither * r + drive * (a + (1 - a) * r),
    all over A. So its rank must be above r / ((unsolved - drive) * (1 - r)), and r is never below P(one
    outside acts).
    """
    if prices.unsolved <= prices.drive:
        return np.full(len(outside), np.inf)
    result: Array = outside / ((prices.unsolved - prices.drive) * (1.0 - outside))
    return result


def _highest(rank: Array, some: NDArray[np.bool_]) -> tuple[Numbers, NDArray[np.bool_]]:
    """Where some of each row stand, the highest rank first, ties in order: their places, (C, T), for the
    row with most of them; and which of these stand for none, since their row has fewer."""
    counts = some.sum(axis=1)
    most = int(counts.max(initial=0))
    # Rounded, so that mates who are alike do not change places by the last bit.
    falling = np.where(some, -np.round(rank, 12), np.inf)
    return falling.argsort(axis=1, kind="stable")[:, :most], np.arange(most) >= counts[:, None]
