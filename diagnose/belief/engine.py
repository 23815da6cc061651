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
from dataclasses import dataclass

import numpy as np

from diagnose.belief.network import Network, Node, reaching
from diagnose.belief.schedule import Close, Fold, Open, Plan, plan
from diagnose.belief.simplify import at_level, flatten
from diagnose.belief.tables import Array, axis_view, pull, push

__all__ = ["Answer", "Engine", "Prepared", "Run", "Weights"]

#: node key -> P(what was observed | state 0..top): the observations of one column.
Weights = Mapping[str, Sequence[float]]

#: Largest table held at once, in numbers (64 MB); wider runs are cut into groups of columns.
TABLE = 8_000_000

#: Simplified models kept for later questions.
MOST_VARIANTS = 32


@dataclass(frozen=True)
class Answer:
    """What a run gives. C columns, N causes; `keys` names the M nodes asked for.

    log_evidence: shape (C,), natural log of P(observations); -inf where they are impossible.
    present: shape (C, N), P(cause present | observations).
    to_blame: shape (C, N), P(cause present and one of its links into a complaint's tree worked | ...).
    on: shape (C, M), P(node in its top state | observations), in the order of `keys`.
    width: the largest table of one column, in states.
    """

    log_evidence: Array
    present: Array
    to_blame: Array
    keys: tuple[str, ...]
    on: Array
    width: int

    def node(self, key: str, column: int = 0) -> float:
        """P(node on | observations of the column)."""
        return float(self.on[column, self.keys.index(key)])


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
        name = (frozenset(keep), tuple(sorted(levels.items())))
        if name not in self._variants:
            if len(self._variants) >= MOST_VARIANTS:
                self._variants.clear()
            self._variants[name] = _Variant(flatten(at_level(self.network, levels), keep))
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


@dataclass(frozen=True)
class Prepared:
    """A model made ready for a run: its plan, and the observations as the run takes them."""

    network: Network
    plan: Plan
    weights: Mapping[str, Array]
    cuts: Mapping[str, Array]


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


class Run:
    """One run over one plan."""

    def __init__(self, prior: Array, ready: Prepared, wanted: tuple[str, ...], columns: int) -> None:
        network, cuts = ready.network, ready.cuts
        self.network, self.plan, self.wanted, self.columns = network, ready.plan, wanted, columns
        self.weights = ready.weights
        causes = len(network.causes)
        # Known absences: factor on the odds of each cause, on each mechanism, and on everything.
        self.factor = np.ones((columns, causes))
        self.node_factor: dict[str, Array] = {}
        self.log_base = np.zeros(columns)
        for key, cut in cuts.items():
            self._absorb(network.nodes[key], cut)
        self.prior = prior
        self.log_evidence = np.full(columns, -np.inf)
        self.present = np.zeros((columns, causes))
        self.to_blame = np.zeros((columns, causes))
        self.on = np.zeros((columns, len(wanted)))

    def _absorb(self, node: Node, cut: Array) -> None:
        """Take in that a finding stayed at or below a level: it rescales what could have raised it."""
        levels = cut[:, 1].astype(int)
        within = np.cumsum(np.array(node.start))[levels]
        self.log_base += np.log(np.maximum(cut[:, 0] * within, 1e-300))
        for each in node.inputs:
            # P(this input alone stays at or below the level) = 1 - chances above it.
            tail = np.concatenate([np.cumsum(np.array(each.chances)[::-1])[::-1], [0.0]])
            keep = 1.0 - tail[levels]
            if isinstance(each.source, str):
                known = self.node_factor.setdefault(each.source, np.ones(self.columns))
                known *= keep
            else:
                self.factor[:, each.source] *= keep

    def answer(self) -> Answer:
        """Everything asked for, in groups of columns that fit the table."""
        group = max(1, min(self.columns, TABLE // max(self.plan.width * (len(self.plan.steps) + 1), 1)))
        for first in range(0, self.columns, group):
            self._columns(slice(first, min(first + group, self.columns)))
        return Answer(self.log_evidence, self.present, self.to_blame, self.wanted, self.on, self.plan.width)

    # One group of columns -------------------------------------------------------------------

    def _columns(self, cols: slice) -> None:
        count = cols.stop - cols.start
        odds_on = self.prior * self.factor[cols]
        p0 = np.broadcast_to(1.0 - self.prior, odds_on.shape)
        self._p0, self._p1 = p0, odds_on
        self._joint = {pair: self._pair(pair, table, cols) for pair, table in self.network.pairs.items()}
        folded: set[int] = set()
        tables: list[Array] = []
        alpha = np.ones((count, 1))
        sizes: list[int] = []
        log_scale = self.log_base[cols].copy()
        for step in self.plan.steps:
            tables.append(alpha)
            if isinstance(step, Open):
                node = self.network.nodes[step.key]
                start = np.array(node.start)
                alpha = (alpha[:, :, None] * start).reshape(count, -1)
                sizes.append(node.top + 1)
            elif isinstance(step, Fold):
                folded.update(step.causes)
                alpha = self._fold(alpha, step, sizes)
            else:
                alpha = self.close(alpha, step, sizes, cols)
                del sizes[step.axis]
                total = alpha.sum(axis=1, keepdims=True)
                total[total <= 0.0] = 1.0
                alpha = alpha / total
                log_scale += np.log(total[:, 0])
        evidence = alpha.reshape(count)
        self._free(folded, cols, log_scale)
        possible = evidence > 0.0
        self.log_evidence[cols] = np.where(
            possible, log_scale + np.log(np.where(possible, evidence, 1.0)), -np.inf
        )
        self._backwards(tables, cols, count)
        impossible = ~possible | ~np.isfinite(log_scale)
        if np.any(impossible):
            rows = np.arange(cols.start, cols.stop)[impossible]
            self.log_evidence[rows] = -np.inf
            self.present[rows] = np.nan
            self.to_blame[rows] = np.nan
            self.on[rows] = np.nan

    def _pair(
        self,
        pair: tuple[int, int],
        table: tuple[tuple[float, float], tuple[float, float]],
        cols: slice,
    ) -> tuple[float, Array, Array, Array]:
        """Joint of two mates with the known absences taken in: (neither, first, second, both)."""
        (p00, p01), (p10, p11) = table
        fi, fj = self.factor[cols, pair[0]], self.factor[cols, pair[1]]
        return p00, p10 * fi, p01 * fj, p11 * fi * fj

    def _free(self, folded: set[int], cols: slice, log_scale: Array) -> None:
        """Causes that push no open event: their odds, rescaled, are all there is to say."""
        for (i, j), (p00, p10, p01, p11) in self._joint.items():
            if i in folded:
                continue
            total = p00 + p10 + p01 + p11
            self.present[cols, i] = (p10 + p11) / total
            self.present[cols, j] = (p01 + p11) / total
            log_scale += np.log(total)
            folded |= {i, j}
        rest = [c for c in range(len(self.prior)) if c not in folded]
        if rest:
            total = self._p0[:, rest] + self._p1[:, rest]
            self.present[cols, rest] = self._p1[:, rest] / total
            log_scale += np.log(total).sum(axis=1)

    def _fold(self, alpha: Array, step: Fold, sizes: Sequence[int]) -> Array:
        if len(step.causes) == 1:
            cause = step.causes[0]
            pushed = alpha.copy()
            push(pushed, step.touches[0], sizes)
            return self._p0[:, cause, None] * alpha + self._p1[:, cause, None] * pushed
        pair = (step.causes[0], step.causes[1])
        p00, p10, p01, p11 = self._joint[pair]
        first = alpha.copy()
        push(first, step.touches[0], sizes)
        second = alpha.copy()
        push(second, step.touches[1], sizes)
        both = first.copy()
        push(both, step.touches[1], sizes)
        result: Array = p00 * alpha + p10[:, None] * first + p01[:, None] * second + p11[:, None] * both
        return result

    def node_weights(self, key: str, cols: slice) -> Array:
        """P(observed | state) of a node, shape (columns, top + 1), known absences below it included."""
        node = self.network.nodes[key]
        if key in self.weights:
            values = self.weights[key][cols].copy()
        else:
            values = np.ones((cols.stop - cols.start, node.top + 1))
        if key in self.node_factor:
            values[:, node.top] *= self.node_factor[key][cols]
        return values

    def close(self, alpha: Array, step: Close, sizes: Sequence[int], cols: slice) -> Array:
        """The table once an event has been observed, has pushed what is above it, and is summed out."""
        weights = self.node_weights(step.key, cols)
        view = axis_view(alpha, step.axis, sizes)
        top = sizes[step.axis] - 1
        off = np.einsum("cpsq,cs->cpq", view[:, :, :top], weights[:, :top])
        on = view[:, :, top] * weights[:, None, top : top + 1]
        left = [size for axis, size in enumerate(sizes) if axis != step.axis]
        flat = on.reshape(len(alpha), -1).copy()
        push(flat, step.above, left)
        result: Array = off.reshape(len(alpha), -1) + flat
        return result

    def _backwards(self, tables: list[Array], cols: slice, count: int) -> None:
        beta = np.ones((count, 1))
        sizes: list[int] = []
        order: list[str] = []
        # The axes as they stood before each step.
        shapes: list[tuple[tuple[int, ...], tuple[str, ...]]] = []
        for step in self.plan.steps:
            shapes.append((tuple(sizes), tuple(order)))
            if isinstance(step, Open):
                sizes.append(self.network.nodes[step.key].top + 1)
                order.append(step.key)
            elif isinstance(step, Close):
                del sizes[step.axis]
                del order[step.axis]
        blame = self.network.blame
        for step, alpha, (before, names) in zip(
            reversed(self.plan.steps), reversed(tables), reversed(shapes), strict=True
        ):
            if isinstance(step, Open):
                start = np.array(self.network.nodes[step.key].start)
                beta = beta.reshape(count, -1, len(start)) @ start
            elif isinstance(step, Fold):
                silent = frozenset(
                    axis for touched in step.touches for axis, _ in touched if names[axis] in blame
                )
                beta = self._unfold(beta, alpha, step, before, silent, cols)
            else:
                beta = self._reopen(beta, alpha, step, before, cols)
            total = beta.max(axis=1, keepdims=True)
            total[total <= 0.0] = 1.0
            beta = beta / total

    def _unfold(
        self,
        beta: Array,
        alpha: Array,
        step: Fold,
        sizes: Sequence[int],
        silent: frozenset[int],
        cols: slice,
    ) -> Array:
        if len(step.causes) == 1:
            cause = step.causes[0]
            pulled = beta.copy()
            pull(pulled, step.touches[0], sizes)
            p0, p1 = self._p0[:, cause], self._p1[:, cause]
            absent = p0 * _dot(alpha, beta)
            present = p1 * _dot(alpha, pulled)
            total = _safe(absent + present)
            self.present[cols, cause] = present / total
            if silent:
                quiet = beta.copy()
                pull(quiet, step.touches[0], sizes, silent)
                blamed = np.maximum(present - p1 * _dot(alpha, quiet), 0.0)
                self.to_blame[cols, cause] = blamed / total
            return p0[:, None] * beta + p1[:, None] * pulled
        pair = (step.causes[0], step.causes[1])
        p00, p10, p01, p11 = self._joint[pair]
        first = beta.copy()
        pull(first, step.touches[0], sizes)
        second = beta.copy()
        pull(second, step.touches[1], sizes)
        both = second.copy()
        pull(both, step.touches[0], sizes)
        neither_w = p00 * _dot(alpha, beta)
        first_w, second_w = p10 * _dot(alpha, first), p01 * _dot(alpha, second)
        both_w = p11 * _dot(alpha, both)
        total = _safe(neither_w + first_w + second_w + both_w)
        self.present[cols, pair[0]] = (first_w + both_w) / total
        self.present[cols, pair[1]] = (second_w + both_w) / total
        if silent:
            for number, (alone, other) in enumerate(((p10, second), (p01, first))):
                quiet = beta.copy()
                pull(quiet, step.touches[number], sizes, silent)
                with_mate = other.copy()
                pull(with_mate, step.touches[number], sizes, silent)
                silent_w = alone * _dot(alpha, quiet) + p11 * _dot(alpha, with_mate)
                present_w = (first_w, second_w)[number] + both_w
                blamed = np.maximum(present_w - silent_w, 0.0)
                self.to_blame[cols, pair[number]] = blamed / total
        result: Array = p00 * beta + p10[:, None] * first + p01[:, None] * second + p11[:, None] * both
        return result

    def _reopen(self, beta: Array, alpha: Array, step: Close, sizes: Sequence[int], cols: slice) -> Array:
        weights = self.node_weights(step.key, cols)
        left = [size for axis, size in enumerate(sizes) if axis != step.axis]
        pulled = beta.copy()
        pull(pulled, step.above, left)
        top = sizes[step.axis] - 1
        before = 1
        for size in sizes[: step.axis]:
            before *= size
        count = len(beta)
        off = beta.reshape(count, before, 1, -1) * weights[:, None, :top, None]
        on = pulled.reshape(count, before, 1, -1) * weights[:, None, top:, None]
        opened = np.concatenate([off, on], axis=2)
        if step.key in self.wanted:
            view = axis_view(alpha, step.axis, sizes)
            whole = (view * opened).sum(axis=(1, 2, 3))
            raised = (view[:, :, top] * opened[:, :, top]).sum(axis=(1, 2))
            self.on[cols, self.wanted.index(step.key)] = raised / _safe(whole)
        return opened.reshape(count, -1)


def _dot(one: Array, other: Array) -> Array:
    result: Array = np.einsum("cs,cs->c", one, other)
    return result


def _safe(total: Array) -> Array:
    """The total with zeros replaced by one: those columns are impossible and marked so later."""
    return np.where(total > 0.0, total, 1.0)
