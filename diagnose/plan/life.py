"""Parts that wear: what is left of a life, the age at which to renew, and whether to do two jobs together.

A life is a Weibull distribution (`model.part.Life`) with cumulative hazard H. Times may be in kilometres,
years, or hours: whatever the scale is in.

Sources: R. E. Barlow, L. C. Hunter, Optimum preventive maintenance policies, Oper. Res. 8 (1960) 90-100, for
age replacement; R. E. Wildeman, R. Dekker, A. C. J. M. Smit, A dynamic policy for grouping maintenance
activities, Eur. J. Oper. Res. 99 (1997) 530-551, for joint execution.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.model.part import Life

__all__ = ["Activity", "Joint", "best_age", "cost_rate", "fails_within", "fit", "joint"]

#: Below this shape a part fails by chance more than by wear: no age at which to renew it is worth naming.
WEARS = 1.2

#: Pieces into which an age is cut for the mean time in use (Simpson's rule: an even number).
PIECES = 2000


def fails_within(life: Life, km: float, years: float, more_km: float, more_years: float) -> float:
    """P(a part that is sound after km and years fails in so many more), in [0, 1).

    1 - R(t + x) / R(t): the conditional reliability, with R(t) = exp(-H(t)).
    """
    more = life.hazard(km + more_km, years + more_years) - life.hazard(km, years)
    return -math.expm1(-max(more, 0.0))


def cost_rate(shape: float, scale: float, planned: float, failed: float, age: float) -> float:
    """Long-run cost per unit of time of renewing at that age or at failure, whichever comes first.

    g(T) = (c_p R(T) + c_f (1 - R(T))) / integral of R from 0 to T. age may be infinite: run to failure.
    """
    if math.isinf(age):
        return failed / (scale * math.gamma(1.0 + 1.0 / shape))
    times = np.linspace(0.0, age, PIECES + 1)
    reliable = np.exp(-((times / scale) ** shape))
    weights = np.ones(PIECES + 1)
    weights[1:-1:2], weights[2:-1:2] = 4.0, 2.0
    in_use = float(reliable @ weights) * age / PIECES / 3.0
    last = float(reliable[-1])
    return (planned * last + failed * (1.0 - last)) / in_use


def best_age(shape: float, scale: float, planned: float, failed: float) -> float | None:
    """The age at which to renew at the least long-run cost; None where running to failure is cheaper.

    There is one only if the hazard rises (shape above 1) and a failure costs more than a planned renewal. It
    solves h(T) * integral of R - (1 - R(T)) = c_p / (c_f - c_p), whose left side rises with T; found by
    halving. None as well where it would lie beyond five scales: nobody gets there.
    """
    if shape <= 1.0 or failed <= planned:
        return None

    def over(age: float) -> bool:
        hazard = shape / scale * (age / scale) ** (shape - 1.0)
        return bool(cost_rate(shape, scale, planned, failed, age) <= (failed - planned) * hazard)

    low, high = 0.0, 5.0 * scale
    if not over(high):
        return None
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (low, middle) if over(middle) else (middle, high)
    return (low + high) / 2.0


@dataclass(frozen=True, slots=True)
class Activity:
    """Work done again and again: planned cost, cost of a small repair, scale and shape of its failures."""

    planned: float
    repair: float
    scale: float
    shape: float

    def best(self, set_up: float) -> tuple[float, float]:
        """Its own best interval and cost per unit of time, with the set-up paid for it alone.

        Minimises (S + c_p + c_r (x / scale) ** shape) / x; shape above 1.
        """
        ratio = (self.planned + set_up) / (self.repair * (self.shape - 1.0))
        interval = self.scale * ratio ** (1.0 / self.shape)
        rate = (set_up + self.planned + self._repairs(interval)) / interval
        return interval, rate

    def _repairs(self, time: float) -> float:
        return float(self.repair * (max(time, 0.0) / self.scale) ** self.shape)

    def penalty(self, set_up: float, shift: float) -> float:
        """What it costs to do it so much later (or earlier) than at its own best interval, once."""
        interval, rate = self.best(set_up)
        return self._repairs(interval + shift) - self._repairs(interval) - shift * rate


@dataclass(frozen=True, slots=True)
class Joint:
    """Activities done together: when, what the shifts cost in all, and what it saves net."""

    time: float
    penalty: float
    saving: float


def joint(activities: Sequence[Activity], set_up: float) -> Joint:
    """The best common time of these activities, each due at its own best interval from now.

    Saves all set-ups but one, less the penalties; a saving below 0 says to do them apart.
    """
    due = [each.best(set_up)[0] for each in activities]

    def cost(time: float) -> float:
        return sum(each.penalty(set_up, time - own) for each, own in zip(activities, due, strict=True))

    # Each penalty is convex in the time: golden section between the first and the last.
    low, high = min(due), max(due)
    ratio = (math.sqrt(5.0) - 1.0) / 2.0
    for _ in range(100):
        one, other = high - ratio * (high - low), low + ratio * (high - low)
        low, high = (low, other) if cost(one) < cost(other) else (one, high)
    time = (low + high) / 2.0
    return Joint(time, cost(time), (len(due) - 1) * set_up - cost(time))


def fit(failed: Sequence[float], survived: Sequence[float] = ()) -> tuple[float, float]:
    """Shape and scale of the Weibull life under which these records are most likely.

    failed: times at which parts failed, two of them different at least. survived: times up to which other
    parts had not failed. Maximum likelihood: the shape solves

        sum t^b ln t / sum t^b - 1 / b = mean of ln t over the failed,

    sums over all times, whose left side rises with b; then scale = (sum t^b / number failed)^(1/b). Raises
    ValueError for times that are not above 0 or fix no shape. Few failures fix it badly.
    """
    ends = np.array([*failed, *survived], dtype=float)
    if len(set(failed)) < 2 or (ends <= 0.0).any():
        raise ValueError("two different failures at least, all times above 0")
    logs = np.log(ends / ends.max())
    mean = float(logs[: len(failed)].mean())

    def over(shape: float) -> bool:
        powers = np.exp(shape * logs)
        return bool(float((powers * logs).sum() / powers.sum()) - 1.0 / shape > mean)

    low, high = 1e-3, 1.0
    while not over(high) and high < 1e4:
        low, high = high, high * 2.0
    for _ in range(100):
        middle = (low + high) / 2.0
        low, high = (low, middle) if over(middle) else (middle, high)
    shape = (low + high) / 2.0
    scale = float(ends.max()) * float(np.exp(shape * logs).sum() / len(failed)) ** (1.0 / shape)
    return shape, scale
