"""Exact inference: sum over causes one by one, forwards and backwards, over a table of open events.

Positive and unsure observations of an event keep it open while its causes are folded in; what is
known not to have happened only rescales the odds of its causes. Nothing is subtracted, so nothing
cancels, however small the probabilities are (compare quickscore, D. Heckerman, UAI 1989, whose
alternating sums break down at about a dozen positive findings).

Many questions are answered in one run: each is a *column* with its own observations; the table has
one row of states per column.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType

import numpy as np

from diagnose.belief.columns import Columns, Observed
from diagnose.belief.network import Network, Node, reaching
from diagnose.belief.run import Answer, Mates, Prepared, Run
from diagnose.belief.schedule import Plan, plan
from diagnose.belief.simplify import Cut, Quiet, at_level, flatten
from diagnose.belief.tables import Array

__all__ = ["Engine", "Weights"]

#: node key -> P(what was observed | state 0..top): the observations of one column.
Weights = Mapping[str, Sequence[float]]

#: Simplified models kept for later questions.
MOST_VARIANTS = 128


class Engine:
    """Answers questions about one network; orders of work are kept between runs."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.prior = np.array([cause.prior for cause in network.causes], dtype=np.float64)
        self._mates = Mates(network)
        self._variants: dict[object, _Variant] = {}
        self._feeding: dict[str, frozenset[str]] = {}
        self._quiet: dict[tuple[str, int], Quiet] = {}
        self._events: dict[str, int] = {}
        self._below: dict[str, frozenset[str]] = {}

    def ask(
        self,
        columns: Columns | Sequence[Weights],
        nodes: Sequence[str] = (),
        lean: Array | None = None,
    ) -> Answer:
        """Posteriors in every column; `nodes` are gates whose probability is wanted as well.

        lean: shape (N,), a factor on the odds of each cause, the same in all columns; the evidence then
        counts it as an observation. It is exact for mates too: each present cause brings its factor.

        A column may leave out any node. Weights must be >= 0; a node's weights that are all 0
        make the column impossible. Raises KeyError for a node that the network does not have.
        """
        return self.asker(columns, nodes)(lean)

    def asker(
        self,
        columns: Columns | Sequence[Weights],
        nodes: Sequence[str] = (),
    ) -> Callable[..., Answer]:
        """The same, made ready once, to be asked for one `lean` after another.

        What it gives takes a `lean` and, for nodes that count and that some column observes, factors on the
        weights of their states.
        """
        wanted = tuple(key for key in nodes if key in self.network.nodes)
        ready = self.prepare(columns, wanted)

        def answer(lean: Array | None, factors: Weights = MappingProxyType({})) -> Answer:
            moved = {key: ready.weights[key] * np.asarray(factor) for key, factor in factors.items()}
            now = replace(ready, weights={**ready.weights, **moved}) if moved else ready
            return Run(self.prior, now, wanted, lean).answer()

        return answer

    def feeds(self, key: str) -> frozenset[str]:
        """The node and every node that feeds it."""
        if key not in self._feeding:
            self._feeding[key] = reaching(self.network, (key,))
        return self._feeding[key]

    def prepare(self, columns: Columns | Sequence[Weights], wanted: Sequence[str]) -> Prepared:
        """The smallest equal model for these columns, with an order of work over it."""
        if not isinstance(columns, Columns):
            columns = Columns.of(columns)
        count = columns.count
        if not count:
            raise ValueError("no columns to ask about")
        seen = {key: _seen(self.network.nodes[key], each, count) for key, each in columns.seen.items()}
        levels = {key: each.level for key, each in seen.items() if each.level}
        weights = {key: each.weights for key, each in seen.items() if each.weights is not None}
        keep = {*weights, *wanted}
        for key, each in seen.items():
            if each.cuts or each.level:
                keep |= self._feeders(key)
        variant = self._variant(frozenset(keep), levels)
        cuts: list[Cut] = []
        for key, each in seen.items():
            if each.cuts:
                cuts += self._cuts(variant, key, 0, each.cuts, count)
            elif 0 < each.level < self.network.nodes[key].top:
                cuts += self._cuts(variant, key, each.level, {(1.0, 0): range(count)}, count)
        sources = len(self.prior) + len(self._events)
        return Prepared(count, self._mates, variant.plan, weights, cuts, sources)

    def _feeders(self, key: str) -> frozenset[str]:
        """The events that feed a finding, which must stay if it is known to have stayed low.

        Not those that a cause acts: they always stay, since they take no room in the table.
        """
        if key not in self._below:
            sources = {each.source for each in self.network.nodes[key].inputs}
            self._below[key] = frozenset(
                source for source in sources if isinstance(source, str) and source not in self.network.acting
            )
        return self._below[key]

    def _variant(self, keep: frozenset[str], levels: Mapping[str, int]) -> _Variant:
        """The simplified model that keeps these events; findings that only rescale odds are not in it."""
        name = (keep, tuple(sorted(levels.items())))
        if name not in self._variants:
            if len(self._variants) >= MOST_VARIANTS:
                self._variants.clear()
            self._variants[name] = _Variant(self.network, keep, levels)
        return self._variants[name]

    def _cuts(
        self,
        variant: _Variant,
        key: str,
        level: int,
        observed: Mapping[tuple[float, int], Sequence[int]],
        columns: int,
    ) -> list[Cut]:
        """Known absences of one finding. level: 0, or the level that it has exactly, nothing above it."""
        if (key, level) not in self._quiet:
            node = variant.events[key + "^" if level else key]
            self._quiet[key, level] = Quiet(node, self._number)
        quiet = self._quiet[key, level]
        return [
            Cut(quiet, highest, factor, None if len(those) == columns else np.array(those, dtype=np.intp))
            for (factor, highest), those in observed.items()
            # "Any level" says nothing.
            if factor != 1.0 or highest < len(quiet.within) - 1
        ]

    def _number(self, source: int | str) -> int:
        """Where the factor of a cause or an event stands in a run: causes first, events as they come."""
        if isinstance(source, int):
            return source
        return self._events.setdefault(source, len(self.prior) + len(self._events))


class _Variant:
    """One simplified network with its order of work; `events` are the nodes before simplification."""

    def __init__(self, network: Network, keep: frozenset[str], levels: Mapping[str, int]) -> None:
        levelled = at_level(network, levels)
        self.events: Mapping[str, Node] = levelled.nodes
        flat = flatten(levelled, {*keep, *network.acting})
        # The complaints' trees are always followed, so that what is to blame can be told.
        axes = reaching(flat, [*keep, *network.acting, *flat.blame])
        self.plan: Plan = plan(flat, axes)


@dataclass(frozen=True, slots=True)
class _Seen:
    """What was observed of one node, in one of three forms.

    weights: shape (C, states), where it needs an axis. cuts: (factor, highest level allowed) -> columns,
    where it was nowhere seen above a level: that only rescales odds. level: above 0 where every column
    has seen exactly that one; `weights` are then those of "it was raised", nothing above it.
    """

    weights: Array | None
    cuts: Mapping[tuple[float, int], Sequence[int]]
    level: int = 0


def _seen(node: Node, observed: Observed, columns: int) -> _Seen:
    """What was observed of a node, in so many columns."""
    if any(len(values) != node.top + 1 for values in observed):
        raise ValueError(f"{node.key} has {node.top + 1} states")
    if not node.counts:
        cuts: dict[tuple[float, int], list[int]] = {}
        for values, those in observed.items():
            cut = _prefix(values)
            if cut is None:
                break
            cuts.setdefault(cut, []).extend(those)
        else:
            return _Seen(None, cuts)
    weights = np.ones((columns, node.top + 1))
    for values, those in observed.items():
        weights[those if len(those) < columns else slice(None)] = values
    level = _exact_level(weights) if not node.counts and node.top > 1 else 0
    if level:
        return _Seen(np.stack([np.zeros(columns), weights[:, level]], axis=1), {}, level)
    return _Seen(weights, {})


def _exact_level(values: Array) -> int:
    """The level above 0 that every row has seen exactly, or 0."""
    seen = values > 0.0
    if np.any(seen.sum(axis=1) != 1):
        return 0
    level = int(np.argmax(seen[0]))
    return level if np.all(seen[:, level]) else 0


@lru_cache(maxsize=1024)
def _prefix(values: tuple[float, ...]) -> tuple[float, int] | None:
    """(factor, level) of weights of the form factor * (1, ..., 1, 0, ..., 0); None if they are not."""
    first = values[0]
    if not first > 0.0:
        return None
    allowed = next((level for level, value in enumerate(values) if value != first), len(values))
    if any(value != 0.0 for value in values[allowed:]):
        return None
    return first, allowed - 1
