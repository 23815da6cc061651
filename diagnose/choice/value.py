"""What knowing more is worth: value of information for a decision with finitely many states.

Throughout: prior has shape (states,), P(state), sum 1; utility has shape (actions, states), what each
action brings in each state, in any one unit (money saved, or costs with a minus); likelihood has shape
(outcomes, states), P(outcome | state), each column sum 1; costs are in the unit of the utility. Every
function raises ValueError for shapes that do not fit, for probabilities outside 0..1 or not summing
to 1, and for a number that is not finite.

A test is worth its cost only if some outcome makes another action the better one. Bits do not tell
that: a test may remove much entropy and change nothing. So rank by expected value, and use entropy to
explain, or where all actions cost the same.

Sources: H. Raiffa, Decision Analysis (1968); R. A. Howard, Information value theory, IEEE Trans. Syst.
Sci. Cybern. 2 (1966); for the entropy after a measurement J. de Kleer, B. C. Williams, Diagnosing
multiple faults, Artificial Intelligence 32 (1987). All three from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from diagnose.belief.tables import Array

__all__ = [
    "best_action",
    "best_actions",
    "bits",
    "bits_after",
    "evpi",
    "evsi",
    "net_value",
    "outcomes",
    "tells",
    "with_perfect_information",
    "with_test",
    "without_information",
]

#: How far a sum of probabilities may be from 1.
SUM_WITHIN = 1e-9


def best_action(prior: ArrayLike, utility: ArrayLike) -> int:
    """The action (row of utility) of greatest expected utility; of equal ones the first."""
    p, u = _decision(prior, utility)
    return _first_best(u @ p)


def without_information(prior: ArrayLike, utility: ArrayLike) -> float:
    """Expected utility of the best action taken now: max over a of E[u(a, state)]."""
    p, u = _decision(prior, utility)
    return float((u @ p).max())


def with_perfect_information(prior: ArrayLike, utility: ArrayLike) -> float:
    """Expected utility if the state is told first, free of charge: E[max over a of u(a, state)]."""
    p, u = _decision(prior, utility)
    return float(u.max(axis=0) @ p)


def evpi(prior: ArrayLike, utility: ArrayLike) -> float:
    """Expected value of perfect information, at least 0: no test is worth more than this."""
    return max(with_perfect_information(prior, utility) - without_information(prior, utility), 0.0)


def outcomes(prior: ArrayLike, likelihood: ArrayLike) -> tuple[Array, Array]:
    """(P(outcome), shape (outcomes,); P(state | outcome), shape (outcomes, states)), by Bayes's rule.

    The row of an outcome that cannot come is the prior.
    """
    p, test = _test(prior, likelihood)
    joint = test * p
    chance: Array = joint.sum(axis=1)
    posterior: Array = np.where(
        chance[:, None] > 0.0, joint / np.where(chance > 0.0, chance, 1.0)[:, None], p
    )
    return chance, posterior


def best_actions(prior: ArrayLike, utility: ArrayLike, likelihood: ArrayLike) -> tuple[int, ...]:
    """The best action after each outcome; all alike means that the test decides nothing."""
    _, u = _decision(prior, utility)
    _, posterior = outcomes(prior, likelihood)
    return tuple(_first_best(u @ row) for row in posterior)


def with_test(prior: ArrayLike, utility: ArrayLike, likelihood: ArrayLike, cost: float = 0.0) -> float:
    """Expected utility of doing the test, then the best action for what it shows; the cost taken off."""
    p, u = _decision(prior, utility)
    _, test = _test(p, likelihood)
    return float(((test * p) @ u.T).max(axis=1).sum()) - _finite(cost)


def evsi(prior: ArrayLike, utility: ArrayLike, likelihood: ArrayLike) -> float:
    """Expected value of the test's (sample) information before its cost: 0..evpi."""
    return max(with_test(prior, utility, likelihood) - without_information(prior, utility), 0.0)


def net_value(prior: ArrayLike, utility: ArrayLike, likelihood: ArrayLike, cost: float) -> float:
    """What doing the test gains over deciding now; below 0 it is not worth its cost."""
    return evsi(prior, utility, likelihood) - _finite(cost)


def tells(labels: Sequence[object]) -> Array:
    """The likelihood, shape (different labels, states), of a test that tells the label of the state for sure.

    labels: one for each state. With it `evsi` is the value of perfect information on one quantity out of
    several. Outcomes stand in the order in which their labels first occur.
    """
    kinds = list(dict.fromkeys(labels))
    return np.array([[float(label == kind) for label in labels] for kind in kinds])


def bits(p: ArrayLike) -> float:
    """Entropy of a distribution, shape (states,), in bits: 0 (certain) to log2(states)."""
    return float(_entropy(_distribution(p)))


def bits_after(prior: ArrayLike, likelihood: ArrayLike) -> float:
    """Expected entropy of the states in bits once the outcome of the test is known: 0..bits(prior)."""
    chance, posterior = outcomes(prior, likelihood)
    return float(chance @ _entropy(posterior))


def _entropy(p: Array) -> Array:
    """Entropy in bits over the last axis; 0 log 0 is 0."""
    result: Array = -(p * np.log2(np.where(p > 0.0, p, 1.0))).sum(axis=-1)
    return result + 0.0


def _first_best(expected: Array) -> int:
    """The first of the greatest, so that rounding does not choose between equal ones."""
    greatest = float(expected.max())
    near: NDArray[np.bool_] = expected >= greatest - 1e-12 * max(1.0, abs(greatest))
    return int(near.argmax())


def _finite(cost: float) -> float:
    if not math.isfinite(cost):
        raise ValueError(f"a cost of {cost} is not finite")
    return cost


def _distribution(p: ArrayLike) -> Array:
    result = np.asarray(p, dtype=float)
    if result.ndim != 1 or result.size == 0:
        raise ValueError(f"a distribution has shape (states,), not {result.shape}")
    if not np.isfinite(result).all() or (result < 0.0).any() or abs(result.sum() - 1.0) > SUM_WITHIN:
        raise ValueError("the probabilities of the states are not in 0..1 with sum 1")
    return result


def _decision(prior: ArrayLike, utility: ArrayLike) -> tuple[Array, Array]:
    p = _distribution(prior)
    u = np.asarray(utility, dtype=float)
    if u.ndim != 2 or u.shape[0] == 0 or u.shape[1] != p.size:
        raise ValueError(f"utility has shape (actions, {p.size}), not {u.shape}")
    if not np.isfinite(u).all():
        raise ValueError("a utility is not finite")
    return p, u


def _test(prior: ArrayLike, likelihood: ArrayLike) -> tuple[Array, Array]:
    p = _distribution(prior)
    test = np.asarray(likelihood, dtype=float)
    if test.ndim != 2 or test.shape[0] == 0 or test.shape[1] != p.size:
        raise ValueError(f"likelihood has shape (outcomes, {p.size}), not {test.shape}")
    if not np.isfinite(test).all() or (test < 0.0).any() or (abs(test.sum(axis=0) - 1.0) > SUM_WITHIN).any():
        raise ValueError("the likelihoods of the outcomes are not in 0..1 with sum 1 for each state")
    return p, test
