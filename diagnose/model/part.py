"""What can be wrong: a part with its faults, how often each is met, and what ends it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from diagnose.errors import NOWHERE, Place

__all__ = ["REFERENCE_KM", "REFERENCE_YEARS", "Fault", "Fits", "Life", "Part"]

#: The car assumed where distance or age is not known (common practice: a workshop's mean car).
REFERENCE_KM = 130_000.0
REFERENCE_YEARS = 9.0

#: A hazard by which a part has failed for certain, many times over; more than that is not told apart.
_SURELY = 1e300

#: fact id -> values of the fact with which the part is fitted; every fact named must agree.
Fits = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Life:
    """A wear-out life: a Weibull distribution in distance, in age, or in both.

    shape > 0 (above 1 wears out); km and years are characteristic lives, by which 63.2 % have failed.
    Source of the form: Weibull two-parameter distribution, as in MIL-HDBK-338B 5.3.6.
    """

    shape: float
    km: float | None = None
    years: float | None = None

    def hazard(self, km: float, years: float) -> float:
        """Cumulative hazard after that distance (km) and age (years): the larger clock counts.

        The failures to expect of one part renewed each time, if all were as old; P(failed) is 1 - exp(-it).
        """
        worst = 0.0
        if self.km is not None:
            worst = max(worst, max(km, 0.0) / self.km)
        if self.years is not None:
            worst = max(worst, max(years, 0.0) / self.years)
        try:
            return float(worst**self.shape)
        except OverflowError:
            return _SURELY

    def stretched(self, factor: float) -> Life:
        """The same life with its distance and its age so many times as long (factor above 0)."""
        km = None if self.km is None else self.km * factor
        years = None if self.years is None else self.years * factor
        return replace(self, km=km, years=years)

    def failed(self, km: float, years: float) -> float:
        """P(failed) in [0, 1) after that distance (km) and age (years)."""
        return -math.expm1(-self.hazard(km, years))


@dataclass(frozen=True, slots=True)
class Fault:
    """One failure mode of one part, the same at each position of the part.

    Exactly one of `life` (wear) and `chance` (event, setting or no fault at all; in (0, 1)) is set.
    `mates` is the odds ratio between the two sides of one axle (1: independent).
    `lifts` maps a condition to the factor on the odds when that condition is known to hold.
    `danger` is "", "warn" (tell the driver, limited use) or "stop" (do not drive), when `danger_when`.
    `inspection` is the item of Directive 2014/45/EU, Annex I, under which the periodic inspection fails the
    car for it ("" if for none); `inspection_when` says from when on.
    """

    id: str
    part: str
    name: str
    where: str
    remedy: str
    life: Life | None = None
    chance: float | None = None
    mates: float = 1.0
    lifts: Mapping[str, float] = field(default_factory=dict)
    fits: Fits = field(default_factory=dict)
    danger: str = ""
    danger_when: str = ""
    source: tuple[str, ...] = ()
    inspection: str = ""
    inspection_when: str = ""
    place: Place = field(default=NOWHERE, compare=False, repr=False)

    def prior(self, km: float | None, years: float | None) -> float:
        """P(present) in (0, 1) at that distance and age; the reference car where one is None."""
        if self.life is None:
            assert self.chance is not None
            return self.chance
        failed = self.life.failed(
            REFERENCE_KM if km is None else km, REFERENCE_YEARS if years is None else years
        )
        return min(max(failed, 1e-6), 1 - 1e-6)


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the car, where it sits and on which layouts it is fitted."""

    id: str
    name: str
    where: str
    fits: Fits = field(default_factory=dict)
    place: Place = field(default=NOWHERE, compare=False, repr=False)
