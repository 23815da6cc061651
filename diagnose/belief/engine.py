"""Exact inference: sum over causes one by one, forwards and backwards, over a table of open events.

Positive and unsure observations of an event keep it open while its causes are folded in; what is
known not to have happened only rescales the odds of its causes. Nothing is subtracted, so nothing
cancels, however small the probabilities are (compare quickscore, D. Heckerman, UAI 1989, whose
alternating sums break down at about a dozen positive findings).

Many questions are answered in one run: each is a *column* with its own observations; the table has
one row of states per column.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from diagnose.belief.network import Network, reaching
from diagnose.belief.run import Answer, Prepared, Run
from diagnose.belief.schedule import Plan, plan
from diagnose.belief.simplify import at_level, flatten
from diagnose.belief.tables import Array

__all__ = ["Engine", "Weights"]

#: node key -> P(what was observed | state 0..top): the observations of one column.
Weights = Mapping[str, Sequence[float]]

#: Simplified models kept for later questions.
MOST_VARIANTS = 32


class Engine:
    """Answers questions about one network; orders of work are kept between runs."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.prior = np.array([cause.prior for cause in network.causes], dtype=np.float64)
        self._variants: dict[object, _Variant] = {}
        self._feeding: dict[str, frozenset[str]] = {}

    def ask(self, columns: Sequence[Weights], nodes: Sequence[str] = ()) -> Answer:
        """Posteriors in every column; `nodes` are gates whose probability is wanted as well.

        A column may leave out any node. Weights must be >= 0; a node's weights that are all 0
        make the column impossible. Raises KeyError for a node that the network does not have.
        """
        wanted = tuple(key for key in nodes if key in self.network.nodes)
        return Run(self.prior, self.prepare(columns, wanted), wanted, len(columns)).answer()

    def feeds(self, key: str) -> frozenset[str]:
        """The node and every node that feeds it."""
        if key not in self._feeding:
            self._feeding[key] = reaching(self.network, (key,))
        return self._feeding[key]

    def prepare(self, columns: Sequence[Weights], wanted: Sequence[str]) -> Prepared:
        """The smallest equal model for these columns, with an order of work over it."""
        if not columns:
            raise ValueError("no columns to ask about")
        weights, cuts, levels = self._split(columns)
        keep = {*weights, *wanted}
        for key in cuts:
            below = self.network.nodes[key.removesuffix("^")].inputs
            keep |= {each.source for each in below if isinstance(each.source, str)}
        name = (frozenset(keep), frozenset(cuts), tuple(sorted(levels.items())))
        if name not in self._variants:
            if len(self._variants) >= MOST_VARIANTS:
                self._variants.clear()
            self._variants[name] = _Variant(flatten(at_level(self.network, levels), keep, cuts))
        variant = self._variants[name]
        # The complaints' trees are always followed, so that what is to blame can be told.
        axes = frozenset(reaching(variant.network, [*keep, *variant.network.blame]))
        return Prepared(variant.network, variant.plan(axes), weights, cuts)

    def _split(self, columns: Sequence[Weights]) -> tuple[dict[str, Array], dict[str, Array], dict[str, int]]:
        """Observations that need an axis, those that only rescale odds, and levels seen exactly.

        The second map holds, per node and column, (P(seen | allowed) factor, highest level allowed):
        shape (C, 2); a level at the top means that the column does not observe the node.
        """
        count = len(columns)
        gathered: dict[str, Array] = {}
        for number, column in enumerate(columns):
            for key, values in column.items():
                node = self.network.nodes[key]
                if key not in gathered:
                    gathered[key] = np.ones((count, node.top + 1))
                gathered[key][number] = values
        weights: dict[str, Array] = {}
        cuts: dict[str, Array] = {}
        levels: dict[str, int] = {}
        for key, observed in gathered.items():
            node = self.network.nodes[key]
            cut = None if node.counts else _prefix(observed)
            if cut is not None:
                cuts[key] = cut
                continue
            level = _exact_level(observed) if not node.counts and node.top > 1 else None
            if level is None:
                weights[key] = observed
                continue
            levels[key] = level
            weights[key] = np.stack([np.zeros(count), observed[:, level]], axis=1)
            if level < node.top:
                cuts[key + "^"] = np.tile([1.0, 0.0], (count, 1))
        return weights, cuts, levels


class _Variant:
    """One simplified network with the orders of work over it."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self._plans: dict[frozenset[str], Plan] = {}

    def plan(self, axes: frozenset[str]) -> Plan:
        """The order of work over these events."""
        if axes not in self._plans:
            self._plans[axes] = plan(self.network, axes)
        return self._plans[axes]


def _exact_level(values: Array) -> int | None:
    """The level above 0 that every row has seen exactly, or None."""
    seen = values > 0.0
    if np.any(seen.sum(axis=1) != 1):
        return None
    level = int(np.argmax(seen[0]))
    return level if level > 0 and bool(np.all(seen[:, level])) else None


def _prefix(values: Array) -> Array | None:
    """(factor, level) of each row of the form factor * (1, ..., 1, 0, ..., 0); None if one is not."""
    first = values[:, :1]
    same = np.isclose(values, first, rtol=0.0, atol=0.0)
    zero = values == 0.0
    if not np.all(same | zero) or np.any(first <= 0.0):
        return None
    # Allowed states must come first: once zero, zero to the end.
    if np.any(zero[:, :-1] & ~zero[:, 1:]):
        return None
    level = (~zero).sum(axis=1) - 1
    return np.stack([first[:, 0], level.astype(np.float64)], axis=1)
