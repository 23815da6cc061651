"""What a set of work costs, where access is opened once and what must follow is done once a visit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.plan.chances import subset_sums

__all__ = ["Shared", "hits", "set_costs", "together"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Shared:
    """What some items need once together: an access, or work that must follow.

    items: bits of the items that need it. minutes of labour and money for material.
    """

    id: str
    place: str
    items: int
    minutes: float
    material: float = 0.0


def hits(count: int, items: int) -> NDArray[np.bool_]:
    """For every set of so many items whether it has one of these, shape (2 ** count,)."""
    found: NDArray[np.bool_] = np.arange(1 << count) & items != 0
    return found


def set_costs(own: Sequence[float], shared: Sequence[tuple[int, float]], visit: float = 0.0) -> Array:
    """What every set of items costs, shape (2 ** len(own),).

    own: of each item alone, beyond what it shares. shared: (items, cost), paid once by a set that has any of
    them. visit: paid by every set but the empty one.
    """
    count = len(own)
    costs = subset_sums(own)
    for items, cost in shared:
        costs = costs + cost * hits(count, items)
    costs[1:] += visit
    return costs


def together(count: int, apart: Sequence[tuple[int, int]]) -> NDArray[np.bool_]:
    """For every set whether it may be done: it has no two items of `apart` (pairs of bit numbers)."""
    every = np.arange(1 << count)
    fine = np.ones(1 << count, dtype=bool)
    for one, other in apart:
        both = 1 << one | 1 << other
        fine &= every & both != both
    return fine
