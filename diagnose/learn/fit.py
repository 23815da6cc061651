"""Expectation and maximization: figures that fit the closed jobs and what was shipped, together.

Maximized is log P(answers, label | complaint) of all jobs plus the log prior of the figures. Cars that never
came, since nobody complained, are imputed: for each job (1 - told) / told of them (A. P. Dempster, N. M.
Laird, D. B. Rubin, Maximum likelihood from incomplete data via the EM algorithm, JRSS B 39 (1977) 1-38,
section 4.2 on truncated samples; from memory). They add nothing that is not known: what they do to the
interval is taken off again, since that rests on the scores of the jobs alone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.learn.coins import Array, Coins, chances, join
from diagnose.learn.expect import LABEL_ERROR, Expected, expect
from diagnose.learn.history import Group, Job, grouped
from diagnose.learn.rows import Figure, Key, figures_of, with_figures
from diagnose.model.library import Library

__all__ = ["Fit", "fit", "values_of"]

#: Rounds at most, and the gain of the logarithm below which another round is not worth its time.
MOST_ROUNDS, ENOUGH = 60, 0.02

#: Tries at a shorter step where a longer one did not gain.
TRIES = 5


@dataclass(frozen=True)
class Fit:
    """What was learned. K figures, those that the jobs have to do with.

    move: change of each in log odds (of a life: log hazard), shape (K,). sd: its standard deviation after
    all jobs. seen, tossed: expected counts of it in the jobs themselves. trace: what is maximized, after
    each round. doubtful: jobs whose label is more likely wrong than right.
    """

    figures: tuple[Figure, ...]
    move: Array
    sd: Array
    seen: Array
    tossed: Array
    trace: tuple[float, ...]
    doubtful: int
    jobs: int

    def library(self, shipped: Library, keys: Sequence[Key] | None = None) -> Library:
        """The library with what was learned in it, of all figures or of these."""
        return with_figures(shipped, self.values(keys))

    def values(self, keys: Sequence[Key] | None = None) -> dict[Key, float]:
        """The learned value of each figure, or of these; of a life the factor on its hazard."""
        found = values_of(self.figures, self.move)
        return found if keys is None else {key: found[key] for key in keys}


def values_of(figures: Sequence[Figure], move: Array) -> dict[Key, float]:
    """The value of each figure once it is moved so far."""
    values = np.where(_is_life(figures), np.exp(move), 1.0 / (1.0 + np.exp(-(_log_odds(figures) + move))))
    return {each.key: float(value) for each, value in zip(figures, values, strict=True)}


def fit(
    library: Library,
    jobs: Sequence[Job],
    label_error: float = LABEL_ERROR,
    told: Callable[[int, float], None] | None = None,
    most: int = MOST_ROUNDS,
) -> Fit:
    """Learn from these jobs. told: called after each round with its number and what is maximized."""
    groups = grouped(jobs)
    figures = tuple(figures_of(library).values())
    search = _Search(library, groups, figures, label_error)
    move = np.zeros(len(figures))
    state = search.at(move)
    trace = [state.value]
    stretch = 1.0
    for number in range(1, most + 1):
        step = search.better(state) - move
        for _ in range(TRIES):
            tried = search.at(move + stretch * step)
            if tried.value >= state.value:
                break
            stretch = 1.0 if stretch > 1.0 else stretch / 2.0
        else:
            break
        gain = tried.value - state.value
        move, state = move + stretch * step, tried
        # Steps of expectation and maximization are short where little is seen: stretched while that gains.
        stretch = min(max(stretch, 1.0) * 1.5, 6.0)
        trace.append(state.value)
        if told is not None:
            told(number, state.value)
        if gain < ENOUGH:
            break
    return search.result(state, move, tuple(trace))


@dataclass(frozen=True)
class _State:
    """All groups under one set of figures. value: what is maximized."""

    found: tuple[Expected, ...]
    coins: Coins
    value: float


class _Search:
    def __init__(
        self, library: Library, groups: Sequence[Group], figures: Sequence[Figure], label_error: float
    ) -> None:
        self.library, self.groups, self.figures, self.label_error = library, groups, figures, label_error
        self.numbers = {each.key: number for number, each in enumerate(figures)}
        self.counts = [np.array(group.counts, dtype=np.float64) for group in groups]
        self.shipped = _log_odds(figures)
        self.life = _is_life(figures)
        self.events = np.array([each.events for each in figures])
        value = np.array([0.5 if each.key.kind == "life" else each.value for each in figures])
        #: Cases as which a shipped chance counts: seen, and not seen.
        self.yes, self.no = self.events / (1.0 - value), self.events / value

    def at(self, move: Array) -> _State:
        """Expected counts with the figures so moved."""
        library = with_figures(self.library, values_of(self.figures, move))
        found = tuple(
            expect(library, self.library, self.numbers, group, self.label_error) for group in self.groups
        )
        value = self.prior(move)
        seen, tossed = [np.zeros(0)], [np.zeros(0)]
        for each, count in zip(found, self.counts, strict=True):
            value += float(count @ each.log_likelihood)
            seen.append(each.gains.seen @ count + each.before[0] * count.sum() / each.told)
            tossed.append(each.gains.tossed @ count + each.before[1] * count.sum() / each.told)
        tosses = [toss for each in found for toss in each.gains.tosses]
        return _State(found, join(tosses, np.concatenate(seen), np.concatenate(tossed)), value)

    def prior(self, move: Array) -> float:
        """Log density of the figures' moves, 0 as shipped: Beta in log odds, Gamma in log hazard."""
        at = self.shipped + move
        beta = self.yes * (_log_sigmoid(at) - _log_sigmoid(self.shipped))
        beta += self.no * (_log_sigmoid(-at) - _log_sigmoid(-self.shipped))
        gamma = self.events * (move - np.expm1(move))
        return float(np.where(self.life, gamma, beta).sum())

    def pull(self, move: Array) -> tuple[Array, Array]:
        """Derivative of the prior by each move, and its information."""
        p = 1.0 / (1.0 + np.exp(-(self.shipped + move)))
        beta, beta_at = self.yes - (self.yes + self.no) * p, (self.yes + self.no) * p * (1.0 - p)
        gamma_at = self.events * np.exp(move)
        return np.where(self.life, self.events - gamma_at, beta), np.where(self.life, gamma_at, beta_at)

    def better(self, state: _State) -> Array:
        """The moves that maximize, for these expected counts: Fisher scoring from the figures as shipped."""
        coins, move = state.coins, np.zeros(len(self.figures))
        for _ in range(30):
            p, slope = chances(coins, self.shipped, move)
            spread = p * (1.0 - p)
            slopes = np.bincount(
                coins.figure, (coins.seen - coins.tossed * p) * slope / spread, minlength=len(move)
            )
            information = np.bincount(
                coins.figure, coins.tossed * slope * slope / spread, minlength=len(move)
            )
            own, own_information = self.pull(move)
            step = np.clip((slopes + own) / np.maximum(information + own_information, 1e-9), -1.0, 1.0)
            move = move + step
            if np.abs(step).max(initial=0.0) < 1e-9:
                break
        return move

    def result(self, state: _State, move: Array, trace: tuple[float, ...]) -> Fit:
        """With the standard deviations: of the inverse of prior information and the jobs' squared scores.

        Source: T. A. Louis, Finding the observed information matrix when using the EM algorithm, JRSS B 44
        (1982) 226-233; here the scores' outer product stands for it (from memory).
        """
        count = len(self.figures)
        information = np.diag(self.pull(move)[1])
        seen, tossed, touched = np.zeros(count), np.zeros(count), np.zeros(count, dtype=bool)
        doubtful = 0
        for each, counts in zip(state.found, self.counts, strict=True):
            gains = each.gains
            coins = join(gains.tosses, gains.seen.sum(axis=1), gains.tossed.sum(axis=1))
            p, slope = chances(coins, self.shipped, move)
            scores = np.zeros((count, len(counts)))
            np.add.at(
                scores,
                coins.figure,
                (gains.seen - gains.tossed * p[:, None]) * (slope / (p * (1.0 - p)))[:, None],
            )
            information += (scores * counts) @ scores.T
            touched[coins.figure] = True
            seen += np.bincount(coins.figure, gains.seen @ counts, minlength=count)
            tossed += np.bincount(coins.figure, gains.tossed @ counts, minlength=count)
            doubtful += int(counts[each.right < 0.5].sum())
        sd = np.sqrt(np.diag(np.linalg.inv(information)))
        keep = np.flatnonzero(touched).tolist()
        jobs = int(sum(counts.sum() for counts in self.counts))
        figures = tuple(self.figures[number] for number in keep)
        return Fit(figures, move[keep], sd[keep], seen[keep], tossed[keep], trace, doubtful, jobs)


def _log_odds(figures: Sequence[Figure]) -> Array:
    return np.array(
        [0.0 if each.key.kind == "life" else np.log(each.value / (1.0 - each.value)) for each in figures]
    )


def _is_life(figures: Sequence[Figure]) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    return np.array([each.key.kind == "life" for each in figures], dtype=np.bool_)


def _log_sigmoid(x: Array) -> Array:
    found: Array = -np.logaddexp(0.0, -x)
    return found
