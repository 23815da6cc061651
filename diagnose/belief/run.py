"""One run of exact inference: causes are folded in forwards, posteriors come out backwards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnose.belief.network import Network, Node
from diagnose.belief.schedule import Act, Close, Fold, Open, Plan
from diagnose.belief.tables import Array, axis_view, fire, pull, push

__all__ = ["Answer", "Prepared", "Run"]

#: Largest tables held at once, in numbers (64 MB); wider runs are cut into groups of columns.
TABLE = 8_000_000


@dataclass(frozen=True)
class Answer:
    """What a run gives. C columns, N causes; `keys` names the M nodes asked for.

    log_evidence: shape (C,), natural log of P(observations); -inf where they are impossible.
    present: shape (C, N), P(cause present | observations).
    to_blame: shape (C, N), P(cause present, and every link and gate on a way from it up to a complaint
    held | observations). Exact for a cause with one way up; several ways through weak or conjoined
    gates are taken as independent once the cause is present.
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


@dataclass(frozen=True)
class Prepared:
    """A model made ready for a run: its plan, and the observations as the run takes them."""

    network: Network
    plan: Plan
    weights: Mapping[str, Array]
    cuts: Mapping[str, Array]


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
                alpha = self._fold(alpha, step, sizes, cols)
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

    def acted(self, act: Act, cols: slice) -> Array:
        """P(it acts, and what is known to be absent fits that), shape (columns, 1)."""
        known = self.node_factor.get(act.key)
        if known is None:
            return np.full((cols.stop - cols.start, 1), act.chance)
        result: Array = act.chance * known[cols, None]
        return result

    def push(self, table: Array, step: Fold, number: int, sizes: Sequence[int], cols: slice) -> None:
        """Forwards, in place: a cause of the step, present, pushes all that it can."""
        push(table, step.touches[number], sizes)
        for act in step.acts[number]:
            fired = table.copy()
            push(fired, act.touches, sizes)
            table *= 1.0 - act.chance
            table += self.acted(act, cols) * fired

    def pull(
        self,
        table: Array,
        step: Fold,
        number: int,
        sizes: Sequence[int],
        cols: slice,
        silent: frozenset[int] = frozenset(),
        without: Act | None = None,
    ) -> None:
        """Backwards, in place: the transpose of `push`.

        On `silent` axes no link worked: what acts there did not act. The way `without` is left out.
        """
        pull(table, step.touches[number], sizes, silent)
        for act in step.acts[number]:
            if act is without:
                continue
            if silent and any(axis in silent for axis, _ in act.touches):
                table *= 1.0 - act.chance
                continue
            fired = table.copy()
            pull(fired, act.touches, sizes)
            table *= 1.0 - act.chance
            table += self.acted(act, cols) * fired

    def _fold(self, alpha: Array, step: Fold, sizes: Sequence[int], cols: slice) -> Array:
        if len(step.causes) == 1:
            cause = step.causes[0]
            pushed = alpha.copy()
            self.push(pushed, step, 0, sizes, cols)
            return self._p0[:, cause, None] * alpha + self._p1[:, cause, None] * pushed
        pair = (step.causes[0], step.causes[1])
        p00, p10, p01, p11 = self._joint[pair]
        first = alpha.copy()
        self.push(first, step, 0, sizes, cols)
        second = alpha.copy()
        self.push(second, step, 1, sizes, cols)
        both = first.copy()
        self.push(both, step, 1, sizes, cols)
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

    def _shapes(self) -> list[tuple[tuple[int, ...], tuple[str, ...]]]:
        """Sizes and keys of the open axes before each step."""
        sizes: list[int] = []
        order: list[str] = []
        shapes: list[tuple[tuple[int, ...], tuple[str, ...]]] = []
        for step in self.plan.steps:
            shapes.append((tuple(sizes), tuple(order)))
            if isinstance(step, Open):
                sizes.append(self.network.nodes[step.key].top + 1)
                order.append(step.key)
            elif isinstance(step, Close):
                del sizes[step.axis]
                del order[step.axis]
        return shapes

    def _backwards(self, tables: list[Array], cols: slice, count: int) -> None:
        """From the last step to the first: what is still to come, for every state of the table.

        Beside it runs, for each open event of a complaint's tree whose being on does not yet mean that
        the complaint is reached, the same message restricted to the stories in which it is: that is
        how a cause that is present is told from one that is to blame.
        """
        beta = np.ones((count, 1))
        reached: dict[str, Array] = {}
        for step, alpha, (sizes, names) in zip(
            reversed(self.plan.steps), reversed(tables), reversed(self._shapes()), strict=True
        ):
            if isinstance(step, Open):
                start = np.array(self.network.nodes[step.key].start)
                reached.pop(step.key, None)
                beta = beta.reshape(count, -1, len(start)) @ start
                reached = {k: x.reshape(count, -1, len(start)) @ start for k, x in reached.items()}
            elif isinstance(step, Fold):
                self._tell(beta, reached, alpha, step, sizes, names, cols)
                beta = self._unfold(beta, step, sizes, cols)
                reached = {k: self._unfold(x, step, sizes, cols) for k, x in reached.items()}
            else:
                after = tuple(name for name in names if name != step.key)
                left = tuple(size for axis, size in enumerate(sizes) if axis != step.axis)
                through = self._through(beta, reached, step, left, after)
                opened = self._reopen(beta, step, sizes, left, cols)
                if step.key in self.wanted:
                    self._tell_node(opened, alpha, step, sizes, cols)
                reached = {k: self._reopen(x, step, sizes, left, cols) for k, x in reached.items()}
                if through is not None:
                    reached[step.key] = self._on_only(through, step, sizes, cols)
                beta = opened
            total = beta.max(axis=1, keepdims=True)
            total[total <= 0.0] = 1.0
            beta = beta / total
            reached = {k: x / total for k, x in reached.items()}

    def _unfold(self, message: Array, step: Fold, sizes: Sequence[int], cols: slice) -> Array:
        """The message before a cause (or two mates) was folded in."""
        first = message.copy()
        self.pull(first, step, 0, sizes, cols)
        if len(step.causes) == 1:
            cause = step.causes[0]
            return self._p0[:, cause, None] * message + self._p1[:, cause, None] * first
        p00, p10, p01, p11 = self._joint[step.causes[0], step.causes[1]]
        second = message.copy()
        self.pull(second, step, 1, sizes, cols)
        both = second.copy()
        self.pull(both, step, 0, sizes, cols)
        result: Array = p00 * message + p10[:, None] * first + p01[:, None] * second + p11[:, None] * both
        return result

    def _tell(
        self,
        beta: Array,
        reached: Mapping[str, Array],
        alpha: Array,
        step: Fold,
        sizes: Sequence[int],
        names: Sequence[str],
        cols: slice,
    ) -> None:
        """Posterior and blame of the causes of a step."""

        def joint(message: Array, pushing: Sequence[int]) -> Array:
            """P(so far) times the message, these causes of the step present; before their own odds."""
            table = message.copy()
            for number in pushing:
                self.pull(table, step, number, sizes, cols)
            return _dot(alpha, table)

        if len(step.causes) == 1:
            cause = step.causes[0]
            weights = {(): self._p0[:, cause], (0,): self._p1[:, cause]}
        else:
            p00, p10, p01, p11 = self._joint[step.causes[0], step.causes[1]]
            weights = {(): np.full(len(alpha), p00), (0,): p10, (1,): p01, (0, 1): p11}
        shares = {pushing: weight * joint(beta, pushing) for pushing, weight in weights.items()}
        total = _safe(sum(shares.values(), np.zeros(len(alpha))))
        blame = self.network.blame
        for number, cause in enumerate(step.causes):
            present = sum((shares[p] for p in shares if number in p), np.zeros(len(alpha)))
            self.present[cols, cause] = present / total
            axes = [(axis, c[0]) for axis, c in step.touches[number] if names[axis] in blame]
            ways = [
                (act, axis) for act in step.acts[number] for axis, _ in act.touches if names[axis] in blame
            ]
            sure = frozenset(
                axis
                for axis in (*(axis for axis, _ in axes), *(axis for _, axis in ways))
                if names[axis] not in reached
            )
            blamed = np.zeros(len(alpha))
            if sure:
                blamed = present.copy()
                for pushing, weight in weights.items():
                    if number in pushing:
                        table = beta.copy()
                        for other in pushing:
                            none = sure if other == number else frozenset[int]()
                            self.pull(table, step, other, sizes, cols, none)
                        blamed -= weight * _dot(alpha, table)
                blamed = np.maximum(blamed, 0.0)
            for axis, chance in axes:
                if axis in sure:
                    continue
                one = np.zeros(len(alpha))
                rest = replace(step, touches=_without(step.touches, number, axis))
                for pushing, weight in weights.items():
                    if number in pushing:
                        table = fire(reached[names[axis]], axis, chance, sizes)
                        for other in pushing:
                            self.pull(table, rest, other, sizes, cols)
                        one += weight * _dot(alpha, table)
                # A cause with several ways up is to blame if one of them was gone to the end; several
                # ways are taken as independent once it is present.
                blamed = blamed + one * (1.0 - blamed / _safe(present))
            for act, axis in ways:
                if axis in sure:
                    continue
                one = np.zeros(len(alpha))
                with_it = [touch for touch in act.touches if touch[0] != axis]
                for pushing, weight in weights.items():
                    if number in pushing:
                        table = self.acted(act, cols) * fire(reached[names[axis]], axis, 1.0, sizes)
                        pull(table, with_it, sizes)
                        for other in pushing:
                            self.pull(
                                table, step, other, sizes, cols, without=act if other == number else None
                            )
                        one += weight * _dot(alpha, table)
                blamed = blamed + one * (1.0 - blamed / _safe(present))
            self.to_blame[cols, cause] = np.minimum(blamed, present) / total

    def _through(
        self,
        beta: Array,
        reached: Mapping[str, Array],
        step: Close,
        left: Sequence[int],
        after: Sequence[str],
    ) -> Array | None:
        """The message after closing, restricted to this event going on to the complaint.

        None for an event outside the complaints' trees, and for one that goes on for sure.
        """
        blame = self.network.blame
        if step.key not in blame:
            return None
        ways = [(axis, chances[0]) for axis, chances in step.above if after[axis] in blame]
        sure = not ways or any(chance == 1.0 and after[axis] not in reached for axis, chance in ways)
        if sure:
            # The top of a tree, or an event that raises it for sure: it is reached once it is on. For an
            # OR any link sees to that; a conjunction must still be complete.
            if self.network.nodes[step.key].top == 1:
                return None
            table = beta.copy()
            pull(table, step.above, left)
            return table
        rest = [touch for touch in step.above if after[touch[0]] not in blame]
        if all(after[axis] not in reached for axis, _ in ways):
            silent = frozenset(axis for axis, _ in ways)
            whole = beta.copy()
            pull(whole, step.above, left)
            none = beta.copy()
            pull(none, step.above, left, silent)
            result = whole - none
        else:
            result = np.zeros_like(beta)
            for axis, chance in ways:
                table = fire(reached.get(after[axis], beta), axis, chance, left)
                pull(table, [t for t in step.above if t[0] != axis and t not in rest], left)
                result = result + table
        if all(after[axis] not in reached for axis, _ in ways):
            return result
        pull(result, rest, left)
        return result

    def _on_only(self, through: Array, step: Close, sizes: Sequence[int], cols: slice) -> Array:
        """A message after closing as one before it, in which the event is on."""
        weights = self.node_weights(step.key, cols)
        top = sizes[step.axis] - 1
        before = int(np.prod(sizes[: step.axis], dtype=int))
        on = through.reshape(len(through), before, 1, -1) * weights[:, None, top:, None]
        off = np.zeros((len(through), before, top, on.shape[3]))
        return np.concatenate([off, on], axis=2).reshape(len(through), -1)

    def _reopen(
        self, message: Array, step: Close, sizes: Sequence[int], left: Sequence[int], cols: slice
    ) -> Array:
        """The message before an event was closed."""
        weights = self.node_weights(step.key, cols)
        pulled = message.copy()
        pull(pulled, step.above, left)
        top = sizes[step.axis] - 1
        before = int(np.prod(sizes[: step.axis], dtype=int))
        count = len(message)
        off = message.reshape(count, before, 1, -1) * weights[:, None, :top, None]
        on = pulled.reshape(count, before, 1, -1) * weights[:, None, top:, None]
        return np.concatenate([off, on], axis=2).reshape(count, -1)

    def _tell_node(self, opened: Array, alpha: Array, step: Close, sizes: Sequence[int], cols: slice) -> None:
        """P(the event is on), where that is wanted."""
        top = sizes[step.axis] - 1
        product = axis_view(alpha, step.axis, sizes) * axis_view(opened, step.axis, sizes)
        whole = product.sum(axis=(1, 2, 3))
        self.on[cols, self.wanted.index(step.key)] = product[:, :, top].sum(axis=(1, 2)) / _safe(whole)


def _without(
    touches: tuple[tuple[tuple[int, tuple[float, ...]], ...], ...], number: int, axis: int
) -> tuple[tuple[tuple[int, tuple[float, ...]], ...], ...]:
    """The touches, those of one cause on one axis left out."""
    own = tuple(touch for touch in touches[number] if touch[0] != axis)
    return (*touches[:number], own, *touches[number + 1 :])


def _dot(one: Array, other: Array) -> Array:
    result: Array = np.einsum("cs,cs->c", one, other)
    return result


def _safe(total: Array) -> Array:
    """The total with zeros replaced by one: those columns are impossible and marked so later."""
    return np.where(total > 0.0, total, 1.0)
