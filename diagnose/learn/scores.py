"""How good stated chances were: Brier score and its parts, log score, reliability.

Source of the parts: A. H. Murphy, A new vector partition of the probability score, J. Appl. Meteorology 12
(1973) 595-600 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from diagnose.learn.counts import wilson

__all__ = ["CLIP", "Bin", "Parts", "Scores", "brier", "log_score", "parts", "reliability", "scores"]

#: A stated chance nearer to 0 or 1 than this counts as this far off, in the log score alone.
CLIP = 0.01

#: Edges of the bins of a reliability table.
EDGES = (0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)


@dataclass(frozen=True, slots=True)
class Bin:
    """Chances stated between `low` and `high`: how many, their mean, and the share that came true.

    least, most: 95 % interval (Wilson) of that share.
    """

    low: float
    high: float
    count: int
    stated: float
    came_true: float
    least: float
    most: float


@dataclass(frozen=True, slots=True)
class Parts:
    """The Brier score in parts: score = reliability - resolution + uncertainty, over equal chances."""

    score: float
    reliability: float
    resolution: float
    uncertainty: float

    @property
    def skill(self) -> float:
        """1 - score / uncertainty: 0 says no more than the mean rate, 1 is perfect."""
        return 1.0 - self.score / self.uncertainty if self.uncertainty > 0.0 else 0.0


@dataclass(frozen=True, slots=True)
class Scores:
    """count: chances scored. error: expected calibration error, mean gap of stated and true over the bins."""

    count: int
    brier: float
    log: float
    error: float
    bins: tuple[Bin, ...]


def _both(stated: ArrayLike, true: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    p, o = np.asarray(stated, dtype=np.float64), np.asarray(true, dtype=np.float64)
    if p.shape != o.shape or p.ndim != 1 or not p.size:
        raise ValueError("as many outcomes as chances are wanted, and one at least")
    if np.any((p < 0.0) | (p > 1.0)) or np.any((o != 0.0) & (o != 1.0)):
        raise ValueError("chances lie in 0..1, outcomes are 0 or 1")
    return p, o


def brier(stated: ArrayLike, true: ArrayLike) -> float:
    """Mean of (stated - true) squared, 0 best. Source: G. W. Brier, Monthly Weather Review 78 (1950) 1-3."""
    p, o = _both(stated, true)
    return float(np.mean((p - o) ** 2))


def log_score(stated: ArrayLike, true: ArrayLike, clip: float = CLIP) -> float:
    """Mean of -log P(what came), natural log, 0 best; chances are clipped so that it stays finite."""
    p, o = _both(stated, true)
    p = np.clip(p, clip, 1.0 - clip)
    return float(-np.mean(o * np.log(p) + (1.0 - o) * np.log1p(-p)))


def parts(stated: ArrayLike, true: ArrayLike) -> Parts:
    """The Brier score in its three parts, chances grouped where they are equal."""
    p, o = _both(stated, true)
    values, group = np.unique(p, return_inverse=True)
    count = np.bincount(group)
    rate = np.bincount(group, weights=o) / count
    base = float(o.mean())
    return Parts(
        float(np.mean((p - o) ** 2)),
        float(count @ (values - rate) ** 2 / len(p)),
        float(count @ (rate - base) ** 2 / len(p)),
        base * (1.0 - base),
    )


def reliability(stated: ArrayLike, true: ArrayLike, edges: Sequence[float] = EDGES) -> tuple[Bin, ...]:
    """What was stated beside what came true, bin by bin; empty bins are left out."""
    p, o = _both(stated, true)
    where = np.clip(np.searchsorted(edges, p, side="right") - 1, 0, len(edges) - 2)
    bins = []
    for number in range(len(edges) - 1):
        here = where == number
        count = int(here.sum())
        if count:
            seen = float(o[here].sum())
            least, most = wilson(seen, count)
            stated_here = float(p[here].mean())
            bins.append(Bin(edges[number], edges[number + 1], count, stated_here, seen / count, least, most))
    return tuple(bins)


def scores(stated: ArrayLike, true: ArrayLike) -> Scores:
    """All scores of these chances and what came true."""
    p, o = _both(stated, true)
    bins = reliability(p, o)
    error = sum(each.count * abs(each.stated - each.came_true) for each in bins) / len(p)
    return Scores(len(p), brier(p, o), log_score(p, o), error, bins)
