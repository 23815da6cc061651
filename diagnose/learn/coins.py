"""Coins: what is tossed for each car, with a chance that hangs on one figure.

A figure is moved by `move`, its change in log odds (of a life: in the logarithm of its hazard). One figure
may stand behind many coins: the same fault in cars of other age, the same link at left and right.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Coins", "Gains", "Toss", "chances", "join"]

Array = NDArray[np.float64]

#: No chance goes nearer to 0 or 1 in a logarithm.
EDGE = 1e-9


@dataclass(frozen=True, slots=True)
class Toss:
    """How the chance of a coin comes from its figure.

    figure: its number. share: a factor on the chance (part of cars with the layout, half a link for a side).
    lift: what is added to the log odds (conditions known). hazard: cumulative hazard at this car's age as
    shipped, 0 where the figure is a chance itself. fresh: P(faulty as fitted).
    """

    figure: int
    share: float = 1.0
    lift: float = 0.0
    hazard: float = 0.0
    fresh: float = 0.0


@dataclass(frozen=True)
class Gains:
    """Coins of one group of jobs: expected counts with the answers, less those of the complaint alone.

    seen, tossed: shape (B, J), a row for each toss, a column for each distinct job.
    """

    tosses: tuple[Toss, ...]
    seen: Array
    tossed: Array


@dataclass(frozen=True)
class Coins:
    """Many coins as arrays (B,), with expected counts: of `tossed`, `seen` fell on "yes"."""

    figure: NDArray[np.intp]
    share: Array
    lift: Array
    hazard: Array
    fresh: Array
    seen: Array
    tossed: Array


def join(tosses: Sequence[Toss], seen: Array, tossed: Array) -> Coins:
    """The tosses as arrays with these counts."""
    table = np.array([(t.share, t.lift, t.hazard, t.fresh) for t in tosses]).reshape(-1, 4)
    figure = np.array([t.figure for t in tosses], dtype=np.intp)
    return Coins(figure, table[:, 0], table[:, 1], table[:, 2], table[:, 3], seen, tossed)


def chances(coins: Coins, shipped: Array, move: Array) -> tuple[Array, Array]:
    """P(yes) of each coin with the figures so moved, and its derivative by the move; shape (B,).

    shipped: log odds of each figure as shipped (0 for a life), shape (K,). move: shape (K,).
    """
    at = move[coins.figure]
    p = 1.0 / (1.0 + np.exp(-(shipped[coins.figure] + at)))
    slope = p * (1.0 - p)
    life = coins.hazard > 0.0
    hazard = coins.hazard * np.exp(np.where(life, at, 0.0))
    sound = (1.0 - coins.fresh) * np.exp(-hazard)
    p = np.clip(np.where(life, 1.0 - sound, p), EDGE, 1.0 - EDGE)
    slope = np.where(life, sound * hazard, slope)
    lifted = p * np.exp(coins.lift)
    q = lifted / (lifted + 1.0 - p)
    slope = slope * q * (1.0 - q) / (p * (1.0 - p))
    return coins.share * q, coins.share * slope
