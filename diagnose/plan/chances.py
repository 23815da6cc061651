"""How likely each set of cures ends the complaint.

The exact answer for one set is a question to the belief; for all 2 ** n sets of n cures that would be too
many. So here the causes behind a complaint are taken as independent events, each with a chance to act, of
which at least one did (`choice.course` has the formula): with the chances a_c that cause c acts and a_o that
something outside the trees does, A = P(one of them acts), and r_k the chance that what cure k fits is itself
bad and raises the complaint,

    Q(S) = P(nothing acts after S) = (1 - a_o) * product over c not ended by S of (1 - a_c),
    P(gone after S) = (P(there) * (Q(S) - Q(nothing)) / A + 1 - P(there)) * product over k in S of (1 - r_k).

That is exact where the tree is all ORs and the causes independent given what was seen. The chances of the
plan that is chosen are asked of the belief itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.choice.course import Prospects

__all__ = ["Acting", "left", "subset_sums"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Acting:
    """What may act behind one complaint, or behind any of several.

    causes: shape (N,), a_c. outside: a_o. one: A, at least one acts. there: P(the complaint is there).
    """

    causes: Array
    outside: float
    one: float
    there: float

    @classmethod
    def of(cls, to_blame: Array, present: Array, outside: float, there: float) -> Acting:
        """From posteriors: to_blame and present of shape (N,), and P(a cause outside the trees)."""
        prospects = Prospects.of(to_blame[None, :], present[None, :], np.array([outside]), np.array([there]))
        one = float(prospects.acting[0])
        return cls(
            np.minimum(prospects.blame[0] * one, 1.0 - 1e-9),
            min(float(prospects.outside[0]) * one, 1.0 - 1e-9),
            one,
            float(prospects.there[0]),
        )

    @property
    def quiet(self) -> Array:
        """log P(cause does not act), shape (N,)."""
        result: Array = np.log1p(-self.causes)
        return result


def left(acting: Acting, ends: Sequence[frozenset[int]], bad: Sequence[float]) -> Array:
    """P(the complaint is still there) after every set of these cures, shape (2 ** len(ends),).

    ends: the causes (indices) that each cure ends; one cause may be ended by several. bad: for each, P(what
    it fits is bad and raises the complaint).
    """
    touched = sorted({cause for each in ends for cause in each})
    column = {cause: number for number, cause in enumerate(touched)}
    ended = np.zeros((1, len(touched)), dtype=bool)
    for each in ends:
        own = np.zeros(len(touched), dtype=bool)
        own[[column[cause] for cause in each]] = True
        ended = np.concatenate([ended, ended | own])
    quiet = acting.quiet
    silent = float(quiet.sum()) + float(np.log1p(-acting.outside))
    sound = subset_sums([float(np.log1p(-each)) for each in bad])
    none_acts = np.exp(silent - ended @ quiet[touched])
    gone = acting.there * (none_acts - none_acts[0]) / acting.one + 1.0 - acting.there
    result: Array = np.clip(1.0 - gone * np.exp(sound), 0.0, 1.0)
    return result


def subset_sums(values: Sequence[float]) -> Array:
    """The sum of every set of these values, shape (2 ** len(values),): bit k of the index is value k."""
    sums = np.zeros(1)
    for each in values:
        sums = np.concatenate([sums, sums + each])
    return sums
