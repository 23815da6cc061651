"""What many searched cars come to: means with 95 % intervals, and savings against the other ways."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.belief.tables import Array
from diagnose.trials.run import NOISY, Done
from diagnose.trials.searches import OWN
from diagnose.trials.walk import Ended

__all__ = ["Mean", "Outcomes", "Saving", "Summary", "summary"]

#: Half the width of a 95 % interval of a mean, in standard errors.
Z95 = 1.96


@dataclass(frozen=True, slots=True)
class Mean:
    """A mean over cars and half the width of its 95 % interval (normal approximation)."""

    value: float
    within: float


@dataclass(frozen=True, slots=True)
class Saving:
    """Part of the cost of another way of searching that the program saves, over the same cars.

    part: 1 - (mean cost of the program / mean cost of the other); below 0 it costs more. within: half the
    width of its 95 % interval, by the spread of the pairs (delta method).
    """

    part: float
    within: float


@dataclass(frozen=True)
class Outcomes:
    """One way of searching over some cars. minutes, cost, checks, wrong (sound parts renewed), tried (cures
    carried out), first and cured (parts of the cars) as in `Ended`; saving: of the program against it."""

    cars: int
    minutes: Mean
    cost: Mean
    checks: Mean
    wrong: Mean
    tried: Mean
    first: Mean
    cured: Mean
    saving: Saving


@dataclass(frozen=True)
class Summary:
    """All cars together, and complaint by complaint: way of searching -> outcomes."""

    cars: int
    seed: int
    noise: float
    whole: Mapping[str, Outcomes]
    complaints: Mapping[str, Mapping[str, Outcomes]]


def summary(done: Sequence[Done], seed: int, noise: float) -> Summary:
    """What these batches come to, in whatever order they came."""
    in_order = sorted(done, key=lambda each: (each.batch.complaint, each.batch.number))
    by_complaint: dict[str, list[Done]] = {}
    for each in in_order:
        by_complaint.setdefault(each.batch.complaint, []).append(each)
    return Summary(
        sum(each.batch.cars for each in in_order),
        seed,
        noise,
        _ways(in_order),
        {complaint: _ways(of) for complaint, of in by_complaint.items()},
    )


def _ways(done: Sequence[Done]) -> dict[str, Outcomes]:
    names = [*done[0].batch.searches, *([NOISY] if done[0].batch.noise > 0.0 else [])] if done else []
    ended = {name: [one for each in done for one in each.ended[name]] for name in names}
    own = ended.get(OWN)
    return {name: _outcomes(of, own or of) for name, of in ended.items()}


def _outcomes(ended: Sequence[Ended], own: Sequence[Ended]) -> Outcomes:
    def mean(values: Sequence[float]) -> Mean:
        of = np.array(values, dtype=float)
        spread = float(of.std(ddof=1)) if len(of) > 1 else 0.0
        return Mean(float(of.mean()), Z95 * spread / math.sqrt(len(of)))

    return Outcomes(
        len(ended),
        mean([each.minutes for each in ended]),
        mean([each.money for each in ended]),
        mean([float(each.checks) for each in ended]),
        mean([float(each.wrong) for each in ended]),
        mean([float(each.tried) for each in ended]),
        mean([float(each.first) for each in ended]),
        mean([float(each.cured) for each in ended]),
        _saving(np.array([each.money for each in own]), np.array([each.money for each in ended])),
    )


def _saving(own: Array, other: Array) -> Saving:
    ratio = float(own.mean() / other.mean())
    rest = own - ratio * other
    spread = float(rest.std(ddof=1)) / math.sqrt(len(rest)) if len(rest) > 1 else 0.0
    return Saving(1.0 - ratio, Z95 * spread / float(other.mean()))
