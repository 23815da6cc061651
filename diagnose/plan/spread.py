"""What a plan may come to: money between a low and a high figure, and whether the purse holds.

Each price lies between its low and its high figure, each hour between `FAST` and `SLOW` times what is usual
(rust decides, and it decides for the whole car); a stage falls due only if the complaint outlived the one
before. Drawn many times over, always with the same seed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["FAST", "SLOW", "Outgoing", "Spread", "spread_of"]

Array = NDArray[np.float64]

#: Between which the hours lie, as parts of what is usual (estimate: a clean car, a rusted one).
FAST, SLOW = 0.8, 1.6

DRAWS, SEED = 20_000, 20

#: Shares of the draws below the low and the high figure shown.
TAILS = (0.1, 0.9)


@dataclass(frozen=True, slots=True)
class Outgoing:
    """One stage: labour in money as usual; low, likely and high price of each of its parts; P(needed)."""

    labour: float
    prices: tuple[tuple[float, float, float], ...]
    needed: float


@dataclass(frozen=True, slots=True)
class Spread:
    """low, likely, high: if every stage is needed, one job in ten costs less than low, half cost less than
    likely, one in ten more than high. expected: mean, stages that are not needed left out. holds: P(what is
    spent keeps to the budget)."""

    low: float
    likely: float
    high: float
    expected: float
    holds: float


def spread_of(stages: Sequence[Outgoing], budget: float) -> Spread:
    """What these stages may come to. Stages fall due in order: the chances to be needed fall."""
    random = np.random.default_rng(SEED)
    whole = np.zeros(DRAWS)
    spent = np.zeros(DRAWS)
    # One car, one rust: all hours of a draw are stretched alike.
    rust = random.triangular(FAST, 1.0, SLOW, DRAWS)
    outlives = random.random(DRAWS)
    for stage in stages:
        cost = stage.labour * rust
        for low, price, high in stage.prices:
            cost = cost + (random.triangular(low, price, high, DRAWS) if low < high else price)
        whole += cost
        spent += np.where(outlives < stage.needed, cost, 0.0)
    low, likely, high = np.quantile(whole, [TAILS[0], 0.5, TAILS[1]])
    return Spread(
        float(low), float(likely), float(high), float(spent.mean()), float((spent <= budget).mean())
    )
