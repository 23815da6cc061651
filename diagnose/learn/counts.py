"""Counting with a prior: Beta for a chance, Dirichlet for grades, Gamma for a rate.

A shipped figure counts as so many cases seen before; closed jobs add theirs. All counts may be fractions:
an expected count of something that was not seen itself is as good as a whole one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Beta", "Gamma", "beta_below", "dirichlet", "prior_of", "wilson"]

#: Halvings of an interval until a quantile is known to the last digit that is printed.
HALVINGS = 60

#: Terms of the continued fraction; it needs about the root of the larger count.
MOST_TERMS = 2000

_Z95 = 1.959963984540054


@dataclass(frozen=True, slots=True)
class Beta:
    """What is known of a chance: as if it had been seen `a` times, and not `b` times; both > 0.

    Source: A. Gelman and others, Bayesian Data Analysis, 2nd ed. 2004, 2.4 (from memory).
    """

    a: float
    b: float

    @property
    def mean(self) -> float:
        """Expected chance, a / (a + b)."""
        return self.a / (self.a + self.b)

    @property
    def sd(self) -> float:
        """Standard deviation of the chance."""
        whole = self.a + self.b
        return math.sqrt(self.a * self.b / (whole * whole * (whole + 1.0)))

    @property
    def cases(self) -> float:
        """So many cases it is worth."""
        return self.a + self.b

    def after(self, seen: float, cases: float) -> Beta:
        """The same once it was seen in `seen` of `cases` more."""
        if not 0.0 <= seen <= cases:
            raise ValueError(f"{seen} of {cases} cannot be counted")
        return Beta(self.a + seen, self.b + cases - seen)

    def below(self, chance: float) -> float:
        """P(the chance is below this)."""
        return beta_below(chance, self.a, self.b)

    def interval(self, within: float = 0.95) -> tuple[float, float]:
        """The middle `within` of what the chance may be: as much is left out at either end."""
        rest = (1.0 - within) / 2.0
        return self._quantile(rest), self._quantile(1.0 - rest)

    def _quantile(self, p: float) -> float:
        low, high = 0.0, 1.0
        for _ in range(HALVINGS):
            middle = (low + high) / 2.0
            low, high = (middle, high) if self.below(middle) < p else (low, middle)
        return (low + high) / 2.0


@dataclass(frozen=True, slots=True)
class Gamma:
    """What is known of a rate: as if `events` had been met in `exposure`; both > 0.

    The conjugate prior of a Poisson count. Source: Gelman and others, as above, 2.7 (from memory).
    """

    events: float
    exposure: float

    @property
    def mean(self) -> float:
        """Expected rate, events per exposure."""
        return self.events / self.exposure

    def after(self, events: float, exposure: float) -> Gamma:
        """The same once so many events were met in so much more exposure."""
        return Gamma(self.events + events, self.exposure + exposure)

    def interval(self) -> tuple[float, float]:
        """95 in 100 of what the rate may be, by a normal error of its logarithm (near from 5 events on)."""
        factor = math.exp(_Z95 / math.sqrt(self.events))
        return self.mean / factor, self.mean * factor


def dirichlet(prior: Sequence[float], seen: Sequence[float]) -> tuple[Beta, ...]:
    """Each of several grades that exclude each other, after the counts seen: its own (marginal) Beta."""
    after = [a + k for a, k in zip(prior, seen, strict=True)]
    whole = sum(after)
    return tuple(Beta(a, whole - a) for a in after)


def prior_of(chance: float, events: float) -> Beta:
    """A shipped chance as a prior worth so many `events`.

    It counts as events / (chance * (1 - chance)) cases: then its log odds are known to about
    1 / root(events), for a rare fault as for a common one.
    """
    return Beta(events / (1.0 - chance), events / chance)


def wilson(seen: float, cases: float) -> tuple[float, float]:
    """95 % interval of a share. Source: E. B. Wilson, JASA 22 (1927) 209-212 (from memory)."""
    if cases <= 0.0:
        return 0.0, 1.0
    z2 = _Z95 * _Z95
    share = seen / cases
    middle = (share + z2 / (2.0 * cases)) / (1.0 + z2 / cases)
    half = _Z95 / (1.0 + z2 / cases) * math.sqrt(share * (1.0 - share) / cases + z2 / (4.0 * cases * cases))
    return max(middle - half, 0.0), min(middle + half, 1.0)


def beta_below(x: float, a: float, b: float) -> float:
    """The regularized incomplete beta function I_x(a, b): P(a Beta(a, b) chance is below x).

    By its continued fraction, evaluated from the top (Lentz). Source: M. Abramowitz, I. A. Stegun, Handbook
    of Mathematical Functions, 1964, 26.5.8 (from memory).
    """
    if x <= 0.0 or x >= 1.0:
        return 0.0 if x <= 0.0 else 1.0
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - beta_below(1.0 - x, b, a)
    log_front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    tiny = 1e-300
    c, d = 1.0, 1.0 / _away(1.0 - (a + b) * x / (a + 1.0), tiny)
    whole = d
    for m in range(1, MOST_TERMS):
        even = m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))
        for term in (even, odd):
            d = 1.0 / _away(1.0 + term * d, tiny)
            c = _away(1.0 + term / c, tiny)
            whole *= c * d
        if abs(c * d - 1.0) < 1e-14:
            break
    return min(math.exp(log_front) * whole / a, 1.0)


def _away(value: float, tiny: float) -> float:
    """The value, kept off 0."""
    return value if abs(value) > tiny else tiny
