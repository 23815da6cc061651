"""Which prices are worth asking for before anything is ordered: their value of perfect information.

A price that nobody has asked for lies at its low, its usual or its high figure with chances 1/4, 1/2, 1/4.
Knowing it is worth what the plan made for the usual figures costs more, on average, than the plan made for
the price as it is (R. A. Howard, Information value theory, IEEE Trans. Syst. Sci. Cybern. 2 (1966) 22-26).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from diagnose.plan.units import Unit

__all__ = ["CHANCES", "PriceWorth", "worth_asking"]

#: P(low), P(usual), P(high) (estimate).
CHANCES = (0.25, 0.5, 0.25)


@dataclass(frozen=True, slots=True)
class PriceWorth:
    """A price, what knowing it is worth in money, and between which it lies."""

    unit: Unit
    worth: float
    low: float
    high: float


def worth_asking(
    units: Sequence[Unit], best: Callable[[int, float], float], planned: Callable[[int, float], float]
) -> list[PriceWorth]:
    """The prices that were not asked for, the one most worth knowing first.

    best: the cost of the best plan if the price of that unit (a number) is changed by so much money; planned:
    that of the plan as it is made now.
    """
    found = []
    for number, unit in enumerate(units):
        offer = unit.offer
        if offer.asked or offer.low is None or offer.high is None:
            continue
        low, high = float(offer.low), float(offer.high)
        gain = 0.0
        for chance, price in zip(CHANCES, (low, unit.price, high), strict=True):
            if price != unit.price:
                change = price - unit.price
                gain += chance * max(planned(number, change) - best(number, change), 0.0)
        found.append(PriceWorth(unit, gain, low, high))
    return sorted(found, key=lambda each: (-each.worth, each.unit.name))
