"""Which offer to take for a remedy: what its parts cost over the time that the car is kept."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from diagnose.model.library import Remedy
from diagnose.model.part import Life
from diagnose.model.story import Workshop
from diagnose.plan.wishes import LIBRARY, Offer, Wishes

__all__ = ["HIGH", "LOW", "again", "best_offer", "cheapest", "offers_of", "usual_offer"]

#: Between which a price lies that nobody has asked for, as parts of the library's estimate (estimate: the
#: maker's list, dealers in unmarked parts and the cheapest offer differ by about this much).
LOW, HIGH = Decimal("0.6"), Decimal("1.7")


def usual_offer(remedy: Remedy, workshop: Workshop) -> Offer:
    """The library's estimate of the price, as an offer that was not asked for."""
    price = Decimal(str(round(workshop.parts(remedy.parts), 2)))
    return Offer(LIBRARY, price, asked=False, low=price * LOW, high=price * HIGH)


def offers_of(remedy: Remedy, wishes: Wishes, workshop: Workshop) -> tuple[Offer, ...]:
    """The offers that come into question: those told, without unwanted grades; else the library's estimate.

    Where every offer told is of an unwanted grade there is none. What comes after the deadline is left out,
    unless everything does.
    """
    told = wishes.offers.get(remedy.id)
    if told is None:
        return (usual_offer(remedy, workshop),)
    wanted = tuple(each for each in told if each.grade.id not in wishes.without)
    in_time = tuple(each for each in wanted if wishes.deadline is None or each.days <= wishes.deadline)
    return in_time or wanted


def again(offer: Offer, lives: Iterable[Life], km: float, years: float) -> float:
    """P(the new part has to be renewed within so many km and years): bad at once, or worn by then.

    lives: of the faults that it can wear by, as they are for the maker's own part.
    """
    holds = 1.0 - offer.badness
    for life in lives:
        holds *= 1.0 - life.stretched(offer.lasting).failed(km, years)
    return 1.0 - holds


def best_offer(
    offers: Iterable[Offer], lives: Iterable[Life], labour: float, km: float, years: float
) -> tuple[Offer, float]:
    """The offer that costs least over the time the car is kept, and what it is expected to cost in that time.

    labour: money for the work, due again with every renewal. A second renewal is reckoned with the same part
    and as the last. Raises ValueError if there is no offer.
    """
    some = tuple(lives)
    costs = [
        (
            float(each.price) + again(each, some, km, years) * (float(each.price) + labour),
            float(each.price),
            number,
            each,
        )
        for number, each in enumerate(offers)
    ]
    if not costs:
        raise ValueError("no offer")
    cost, _, _, offer = min(costs, key=lambda row: row[:3])
    return offer, cost


def cheapest(offers: Iterable[Offer]) -> Offer:
    """The one that takes the least cash."""
    return min(offers, key=lambda each: each.price)
