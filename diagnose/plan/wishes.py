"""What the owner of the car wants of a plan, and what parts can be had for."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

__all__ = ["BUDGET", "CARES", "GRADES", "LIBRARY", "MAKER", "UNMARKED", "Grade", "Offer", "Wishes"]


@dataclass(frozen=True, slots=True)
class Grade:
    """What is usual for parts of one grade.

    bad: P(the part is bad as delivered, or fits badly). life: how long it lasts, beside the maker's own.
    """

    id: str
    name: str
    bad: float
    life: float


#: Grades of parts as the trade knows them: the maker's own; the very same part without the maker's mark; the
#: cheapest that fits. Their chances and lives are estimates; an offer may tell its own.
MAKER = Grade("maker", "the maker's own", 0.02, 1.0)
UNMARKED = Grade("unmarked", "the same part without the maker's mark", 0.03, 1.0)
BUDGET = Grade("budget", "the cheapest that fits", 0.06, 0.6)
GRADES: Mapping[str, Grade] = {each.id: each for each in (MAKER, UNMARKED, BUDGET)}

#: Grade of a price that nobody has asked for yet: the library's estimate, of no grade in particular.
LIBRARY = Grade("", "price as usual, not asked for", 0.03, 1.0)

#: What an owner may care about, each with a weight; 1 is the usual one.
CARES = ("feel", "tyres", "safety", "inspection")


@dataclass(frozen=True, slots=True)
class Offer:
    """One way to get the parts of a remedy, for its unit.

    price: all of them, in the job's currency. low, high: between which it lies in 9 of 10 cases; equal to the
    price where it was asked for. days: until the parts are there.
    """

    grade: Grade
    price: Decimal
    days: int = 0
    bad: float | None = None
    life: float | None = None
    asked: bool = True
    low: Decimal | None = None
    high: Decimal | None = None

    @property
    def badness(self) -> float:
        """P(bad as delivered, or fitted badly)."""
        return self.grade.bad if self.bad is None else self.bad

    @property
    def lasting(self) -> float:
        """Its life beside that of the maker's own part, above 0."""
        return self.grade.life if self.life is None else self.life


@dataclass(frozen=True)
class Wishes:
    """Limits and likings. Money in the job's currency.

    budget: for all stages, if all are needed; stage_budget: for any one. stages: 1 or more. deadline: days to
    the annual inspection. keep_km, keep_years: for how long the car is to be kept. cares: weights, see CARES.
    worth: what it is worth to be rid of one complaint. own_rate: what an hour of the owner's own is worth
    who does the work, None for work paid by the hour; `rate` is that of the workshop, None for the job's own.
    only: an axle. without: grades not wanted. offers, hours: by remedy.
    """

    budget: float = math.inf
    stage_budget: float = math.inf
    stages: int = 3
    deadline: int | None = None
    keep_km: float = 30_000.0
    keep_years: float = 2.0
    cares: Mapping[str, float] = field(default_factory=dict)
    worth: float | None = None
    rate: float | None = None
    own_rate: float | None = None
    currency: str | None = None
    only: str | None = None
    without: frozenset[str] = frozenset()
    offers: Mapping[str, tuple[Offer, ...]] = field(default_factory=dict)
    hours: Mapping[str, float] = field(default_factory=dict)

    def cares_for(self, what: str) -> float:
        """The weight of what the owner cares about; 1 where nothing was said."""
        return self.cares.get(what, 1.0)
