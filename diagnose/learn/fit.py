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
from diagnose.learn.counts import prior_of
from diagnose.learn.expect import LABEL_ERROR, Expected, expect
from diagnose.learn.history import Group, Job, grouped
from diagnose.learn.rows import Figure, Key, figures_of, with_figures
from diagnose.model.library import Library

__all__ = ["Fit", "Search", "fit", "values_of"]

#: Rounds at most, and the gain of the logarithm below which another round is not worth its time.
MOST_ROUNDS, ENOUGH = 60, 0.02

#: Tries at a shorter step where a longer one did not gain.
TRIES = 5


@dataclass(frozen=True)
class Fit:
    """What was learned. K figures, those that the jobs have to do with.

    move: change of each in log odds (of a life: log hazard), shape (K,). sd: its standard deviation after
    all jobs. trace: what is maximized, after each round. doubtful: jobs whose label is more likely wrong than
    right.
    """

    figures: tuple[Figure, ...]
    move: Array
    sd: Array
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
    *,
    plain: bool = False,
) -> Fit:
    """Learn from these jobs; what is maximized never falls from one round to the next.

    told: called after each round with its number and what is maximized. plain: steps of expectation and
    maximization alone; else a step by the scores is tried first, which needs fewer rounds to the same end
    (E. Berndt, B. Hall, R. Hall, J. Hausman, Annals of Economic and Social Measurement 3 (1974) 653-665;
    from memory).
    """
    figures = tuple(figures_of(library).values())
    groups = grouped(jobs)
    # Most of a library has nothing to do with these jobs: one round to see what has.
    touched = Search(library, groups, figures, label_error).touched()
    search = Search(library, groups, [figures[number] for number in touched], label_error)
    move = np.zeros(len(touched))
    state = search.at(move)
    trace = [state.value]
    for number in range(1, MOST_ROUNDS + 1):
        before = state.value
        steps = [search.step] if plain else [_by_scores, search.step]
        for step in steps:
            found = _gained(search, state, move, step(state, move))
            if found is not None:
                move, state = found
                break
        trace.append(state.value)
        if told is not None:
            told(number, state.value)
        if state.value - before < ENOUGH:
            break
    return search.result(state, move, tuple(trace))


def _by_scores(state: _State, move: Array) -> Array:
    """The step to where the scores would vanish, were their slope what it is here; none longer than 1."""
    step = np.linalg.solve(state.information, state.slope)
    return np.asarray(step / max(float(np.abs(step).max(initial=0.0)), 1.0), dtype=np.float64)


def _gained(search: Search, state: _State, move: Array, step: Array) -> tuple[Array, _State] | None:
    """After this step, or the longest half, quarter, ... of it that gains; None if none does."""
    for _ in range(TRIES):
        tried = search.at(move + step)
        if tried.value >= state.value:
            return move + step, tried
        step = step / 2.0
    return None


@dataclass(frozen=True)
class _State:
    """All groups under one set of figures. value: what is maximized; slope: its derivative by each move.

    information: of the prior, and the jobs' scores squared and summed, shape (K, K).
    """

    found: tuple[Expected, ...]
    coins: Coins
    value: float
    slope: Array
    information: Array


class Search:
    """All groups of jobs, and what is expected of them under figures moved so far or so."""

    def __init__(
        self, library: Library, groups: Sequence[Group], figures: Sequence[Figure], label_error: float
    ) -> None:
        self.library, self.groups, self.figures, self.label_error = library, groups, figures, label_error
        self.numbers = {each.key: number for number, each in enumerate(figures)}
        self.counts = [np.array(group.counts, dtype=np.float64) for group in groups]
        self.shipped = _log_odds(figures)
        self.life = _is_life(figures)
        self.events = np.array([each.events for each in figures])
        priors = [prior_of(0.5 if each.key.kind == "life" else each.value, each.events) for each in figures]
        #: Cases as which a shipped chance counts: seen, and not seen.
        self.yes, self.no = np.array([each.a for each in priors]), np.array([each.b for each in priors])

    def touched(self) -> list[int]:
        """Numbers of the figures that anything seen or told in the jobs hangs on."""
        found = (expect(self.library, self.library, self.numbers, group) for group in self.groups)
        return sorted({toss.figure for each in found for toss in each.gains.tosses})

    def at(self, move: Array) -> _State:
        """Expected counts with the figures so moved."""
        library = with_figures(self.library, values_of(self.figures, move))
        found = tuple(
            expect(library, self.library, self.numbers, group, self.label_error) for group in self.groups
        )
        value = self.prior(move)
        slope = self.pull(move)[0]
        # As with whole counts, a prior tells as much as the events it is worth, wherever the figure ends:
        # the events of a Beta or a Gamma posterior are those of the prior and those of the data, added.
        information = np.diag(self.events)
        seen, tossed = [np.zeros(0)], [np.zeros(0)]
        for each, count in zip(found, self.counts, strict=True):
            value += float(count @ each.log_likelihood)
            seen.append(each.gains.seen @ count + each.before[0] * count.sum() / each.told)
            tossed.append(each.gains.tossed @ count + each.before[1] * count.sum() / each.told)
            scores = self.scores(each, move)
            slope = slope + scores @ count
            information += (scores * count) @ scores.T
        tosses = [toss for each in found for toss in each.gains.tosses]
        coins = join(tosses, np.concatenate(seen), np.concatenate(tossed))
        return _State(found, coins, value, slope, information)

    def scores(self, each: Expected, move: Array) -> Array:
        """Derivative of the log likelihood of each kind of job by each move, shape (K, J)."""
        gains = each.gains
        coins = join(gains.tosses, gains.seen.sum(axis=1), gains.tossed.sum(axis=1))
        p, slope = chances(coins, self.shipped, move)
        scores = np.zeros((len(self.figures), gains.seen.shape[1]))
        of_coins = (gains.seen - gains.tossed * p[:, None]) * (slope / (p * (1.0 - p)))[:, None]
        np.add.at(scores, coins.figure, of_coins)
        return scores

    def step(self, state: _State, move: Array) -> Array:
        """The step of expectation and maximization."""
        return self.better(state) - move

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
        return self.likeliest(state.coins)

    def likeliest(self, coins: Coins) -> Array:
        """The moves that fit these counts and the prior best, shape (K,)."""
        move = np.zeros(len(self.figures))
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
        sd = np.sqrt(np.diag(np.linalg.inv(state.information)))
        counts = zip(state.found, self.counts, strict=True)
        doubtful = int(sum(count[each.right < 0.5].sum() for each, count in counts))
        jobs = int(sum(count.sum() for count in self.counts))
        return Fit(tuple(self.figures), move, sd, trace, doubtful, jobs)


def _log_odds(figures: Sequence[Figure]) -> Array:
    return np.array(
        [0.0 if each.key.kind == "life" else np.log(each.value / (1.0 - each.value)) for each in figures]
    )


def _is_life(figures: Sequence[Figure]) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    return np.array([each.key.kind == "life" for each in figures], dtype=np.bool_)


def _log_sigmoid(x: Array) -> Array:
    found: Array = -np.logaddexp(0.0, -x)
    return found
