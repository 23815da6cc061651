"""One run of exact inference: causes are folded in forwards, posteriors come out backwards."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.belief.network import Network
from diagnose.belief.schedule import Act, Bundle, Close, Fold, Group, Links, Open, Plan
from diagnose.belief.simplify import Cut, absorbed
from diagnose.belief.small import Acting, Pushes
from diagnose.belief.tables import (
    Array,
    Blocks,
    Reach,
    Touches,
    apart,
    axis_view,
    dot,
    fire,
    held,
    pull,
    pull_act,
    push,
    push_act,
    safe,
    weighed,
    whole,
    worth,
)

__all__ = ["Answer", "Mates", "Prepared", "Run"]

#: Largest tables held at once, in numbers (64 MB); wider runs are cut into groups of columns.
TABLE = 8_000_000

#: Numbers that a bundle holds for each of its causes in each column, about.
BUNDLED = 20


#: Events closed before a table is brought back to a sum of 1, and messages to a most of 1: far fewer than it
#: takes to make a number too small, and cheaper than after each.
RESCALED = 4


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


class Mates:
    """The pairs of a network as arrays, in its order.

    first, second: shape (P,), their causes. joint: shape (2, 2, P), prior of absent or present of both.
    """

    def __init__(self, network: Network) -> None:
        self.numbers = {pair: number for number, pair in enumerate(network.pairs)}
        pairs = np.array(list(network.pairs), dtype=np.intp).reshape(-1, 2)
        self.first, self.second = pairs[:, 0], pairs[:, 1]
        self.joint = np.array(list(network.pairs.values())).reshape(-1, 2, 2).transpose(1, 2, 0)


@dataclass(frozen=True)
class Prepared:
    """A model made ready for a run: its plan, and the observations as the run takes them.

    sources: how many causes and events the sources of the cuts are numbered by.
    """

    columns: int
    mates: Mates
    plan: Plan
    weights: Mapping[str, Array]
    cuts: Sequence[Cut]
    sources: int


#: Which causes of a step are present -> the odds of that, shape (columns, 1).
Stories = dict[tuple[int, ...], Array]


@dataclass(frozen=True, slots=True)
class _Unfolded:
    """What is known of a step when its causes are told: for each story the messages that it moved, and
    what the first of them is worth; `reached` names the others."""

    step: Fold
    sizes: Sequence[int]
    names: Sequence[str]
    reached: Sequence[str]
    alpha: Array
    stories: Stories
    moved: Mapping[tuple[int, ...], Array]
    worth: Mapping[tuple[int, ...], Array]


@dataclass(frozen=True, slots=True)
class _Told:
    """A fold of a group. neither: odds that none of its causes is present; stories: of the one, or of the
    first, the second and both, shape (columns,). For each cause: the table before it with the odds of the
    stories in which it is present, its mate counted, and what it makes of that. table: after all of them.
    """

    neither: float
    stories: Sequence[Array]
    bases: Sequence[Array]
    present: Sequence[Array]
    table: Array


@dataclass(frozen=True, slots=True)
class _Inner:
    """A group folded in: its folds, and its small table at the end."""

    folds: Sequence[_Told]
    table: Array


class Run:
    """One run over one plan."""

    def __init__(
        self,
        prior: Array,
        ready: Prepared,
        wanted: tuple[str, ...],
        lean: Array | None = None,
    ) -> None:
        self.network, self.plan, self.wanted = ready.plan.network, ready.plan, wanted
        self.columns = columns = ready.columns
        self.weights, self.mates = ready.weights, ready.mates
        causes = len(prior)
        # Known absences: factor on the odds of each cause and each mechanism, and on everything.
        factor, self.log_base = absorbed(ready.cuts, ready.sources, columns)
        self.factor = factor[:, :causes] if lean is None else factor[:, :causes] * lean
        events = {key: number for cut in ready.cuts for key, number in cut.quiet.events.items()}
        self.node_factor = {key: factor[:, number] for key, number in events.items()}
        for cause, key, chance in ready.plan.silent:
            if key in self.node_factor:
                self.factor[:, cause] *= 1.0 - chance + chance * self.node_factor[key]
        self.prior = prior
        self.log_evidence = np.full(columns, -np.inf)
        self.present = np.zeros((columns, causes))
        self.to_blame = np.zeros((columns, causes))
        self.on = np.zeros((columns, len(wanted)))

    def answer(self) -> Answer:
        """Everything asked for, in groups of columns that fit the table."""
        held_at_once = self.plan.width * (len(self.plan.moves) + 1) + BUNDLED * len(self.prior)
        group = max(1, min(self.columns, TABLE // held_at_once))
        for first in range(0, self.columns, group):
            self._columns(slice(first, min(first + group, self.columns)))
        return Answer(self.log_evidence, self.present, self.to_blame, self.wanted, self.on, self.plan.width)

    # One group of columns -------------------------------------------------------------------

    def _columns(self, cols: slice) -> None:
        count = cols.stop - cols.start
        self._odds(cols)
        tables: list[Array] = []
        blocks: list[Blocks | _Inner | None] = []
        alpha = np.ones((count, 1))
        log_scale = self.log_base[cols].copy()
        closed = 0
        for step, (sizes, _) in zip(self.plan.moves, self.plan.shapes, strict=False):
            tables.append(alpha)
            blocks.append(None)
            if isinstance(step, Open):
                start = np.array(self.network.nodes[step.key].start)
                alpha = held((alpha.T[:, None] * start[:, None]).reshape(-1, count))
            elif isinstance(step, Fold):
                alpha = self._fold(alpha, step, sizes, cols)
            elif isinstance(step, Group):
                blocks[-1] = inner = self._inner(step, alpha, cols)
                if step.every:
                    alpha = held(inner.table)
                else:
                    moves = step.small.square(inner.table)
                    alpha = whole(weighed(moves, apart(alpha, step.axes, sizes)), step.axes, sizes)
            elif isinstance(step, Bundle):
                blocks[-1] = block = self._blocks(step, cols)
                log_scale += _log(block.odds)
                alpha = alpha.copy(order="K")
                block.push(alpha, step.axis, sizes)
            else:
                alpha = self.close(alpha, step, sizes, cols)
                closed += 1
                if closed % RESCALED == 0:
                    total = safe(alpha.sum(axis=1))
                    alpha = alpha / total[:, None]
                    log_scale += np.log(total)
        evidence = alpha.reshape(count)
        self._free(cols, log_scale)
        possible = evidence > 0.0
        self.log_evidence[cols] = np.where(
            possible, log_scale + np.log(np.where(possible, evidence, 1.0)), -np.inf
        )
        self._backwards(tables, blocks, cols, count)
        impossible = ~possible | ~np.isfinite(log_scale)
        if np.any(impossible):
            rows = np.arange(cols.start, cols.stop)[impossible]
            self.log_evidence[rows] = -np.inf
            self.present[rows] = np.nan
            self.to_blame[rows] = np.nan
            self.on[rows] = np.nan

    def _odds(self, cols: slice) -> None:
        """Prior odds with the known absences taken in, of each cause and of each pair of mates."""
        factor = self.factor[cols]
        self._p0, self._p1 = 1.0 - self.prior, self.prior * factor
        (p00, p01), (p10, p11) = self.mates.joint
        first, second = factor[:, self.mates.first], factor[:, self.mates.second]
        self._neither, self._first, self._second, self._both = (
            p00,
            p10 * first,
            p01 * second,
            p11 * first * second,
        )

    def _free(self, cols: slice, log_scale: Array) -> None:
        """Causes that push no open event: their odds, rescaled, are all there is to say."""
        pairs, rest = self.plan.loose_pairs, self.plan.loose
        if len(pairs):
            first, second, both = (x[:, pairs] for x in (self._first, self._second, self._both))
            total = self._neither[pairs] + first + second + both
            self.present[cols, self.mates.first[pairs]] = (first + both) / total
            self.present[cols, self.mates.second[pairs]] = (second + both) / total
            log_scale += np.log(total).sum(axis=1)
        if len(rest):
            total = self._p0[rest] + self._p1[:, rest]
            self.present[cols, rest] = self._p1[:, rest] / total
            log_scale += np.log(total).sum(axis=1)

    def acted(self, act: Act, cols: slice) -> Array:
        """P(it acts, and what is known to be absent fits that), shape (columns, 1) or (1, 1)."""
        known = self.node_factor.get(act.key)
        if known is None:
            return np.full((1, 1), act.chance)
        result: Array = act.chance * known[cols, None]
        return result

    def push(self, table: Array, step: Fold, number: int, sizes: Sequence[int], cols: slice) -> None:
        """Forwards, in place: a cause of the step, present, pushes all that it can."""
        push(table, step.touches[number], sizes)
        for act in step.acts[number]:
            if _one_link(act) and act.key not in self.node_factor:
                push(table, ((act.touches[0][0], (act.chance,)),), sizes)
                continue
            if _one_link(act):
                push_act(table, act.touches[0][0], act.chance, self.acted(act, cols), sizes)
                continue
            fired = table.copy(order="K")
            push(fired, act.touches, sizes)
            table *= 1.0 - act.chance
            table += self.acted(act, cols) * fired

    def pull(self, table: Array, step: Fold, number: int, sizes: Sequence[int], cols: slice) -> None:
        """Backwards, in place: the transpose of `push`."""
        self._pull(table, step.touches[number], step.acts[number], sizes, cols)

    def _pull(
        self, table: Array, touches: Touches, acts: Sequence[Act], sizes: Sequence[int], cols: slice
    ) -> None:
        pull(table, touches, sizes)
        for act in acts:
            if _one_link(act) and act.key not in self.node_factor:
                pull(table, ((act.touches[0][0], (act.chance,)),), sizes)
                continue
            if _one_link(act):
                pull_act(table, act.touches[0][0], act.chance, self.acted(act, cols), sizes)
                continue
            fired = table.copy(order="K")
            pull(fired, act.touches, sizes)
            table *= 1.0 - act.chance
            table += self.acted(act, cols) * fired

    def _stories(self, step: Fold) -> Stories:
        if len(step.causes) == 1:
            cause = step.causes[0]
            return {(): self._p0[cause].reshape(1, 1), (0,): self._p1[:, cause, None]}
        pair = self.mates.numbers[step.causes[0], step.causes[1]]
        return {
            (): self._neither[pair].reshape(1, 1),
            (0,): self._first[:, pair, None],
            (1,): self._second[:, pair, None],
            (0, 1): self._both[:, pair, None],
        }

    def _fold(self, alpha: Array, step: Fold, sizes: Sequence[int], cols: slice) -> Array:
        moved: dict[tuple[int, ...], Array] = {(): alpha}
        for pushing in self._stories(step):
            if pushing:
                # One more than a story that was moved before.
                moved[pushing] = moved[pushing[:-1]].copy(order="K")
                self.push(moved[pushing], step, pushing[-1], sizes, cols)
        return _weighted(self._stories(step), moved)

    def _done(
        self, table: Array, moves: Array | None, acts: Sequence[Acting], cols: slice, back: bool = False
    ) -> Array:
        """What links (None: none) and acts make of a small table, or back, of messages after them."""
        if moves is not None:
            table = (moves.T if back else moves) @ table
        for key, chance, acting in acts:
            table = (1.0 - chance) * table + self._works(key, chance, cols) * (
                (acting.T if back else acting) @ table
            )
        return table

    def _works(self, key: str, chance: float, cols: slice) -> Array | float:
        """P(it acts, and what is known to be absent fits that), shape (columns,), or the chance itself."""
        known = self.node_factor.get(key)
        return chance if known is None else chance * known[cols]

    def _inner(self, step: Group, alpha: Array, cols: slice) -> _Inner:
        """The folds of a group forwards, on their small table."""
        if step.every:
            table = held(alpha)
        else:
            table = np.zeros((step.small.states, cols.stop - cols.start))
            table[0] = 1.0
        folds = []
        for numbers, pushes in step.folds:
            neither, stories = self._odds_of(numbers, cols)
            bases = [stories[0] * table]
            after = neither * table
            if len(pushes) > 1:
                one, other = (self._done(table, does.own, does.acts, cols) for does in pushes)
                bases = [bases[0] + stories[2] * other, stories[1] * table + stories[2] * one]
                after += stories[1] * other
            present = [
                self._done(base, does.own, does.acts, cols) for base, does in zip(bases, pushes, strict=True)
            ]
            table = after + present[0]
            folds.append(_Told(neither, stories, bases, present, table))
        return _Inner(folds, table)

    def _odds_of(self, numbers: tuple[int, ...], cols: slice) -> tuple[float, Sequence[Array]]:
        """Odds that no cause of a fold is present, and of each of its stories, shape (columns,)."""
        if len(numbers) == 1:
            return float(self._p0[numbers[0]]), [self._p1[:, numbers[0]]]
        pair = self.mates.numbers[numbers[0], numbers[1]]
        stories = [self._first[:, pair], self._second[:, pair], self._both[:, pair]]
        return float(self._neither[pair]), stories

    def _ungroup(
        self,
        messages: Array,
        reached: Sequence[str],
        alpha: Array,
        step: Group,
        inner: _Inner,
        sizes: Sequence[int],
        cols: slice,
    ) -> Array:
        """The messages before a group was folded in; tells the posteriors and blame of its causes."""
        # Of the complaint's events that are open, only those that these causes push can tell their blame.
        mine = [key for key in reached if key in step.keys]
        if step.every:
            small = held(messages)
        else:
            before, after = apart(alpha, step.axes, sizes), apart(messages, step.axes, sizes)
            rows = [0, *(reached.index(key) + 1 for key in mine)]
            small = step.small.worth(worth(before, after[rows]))
        for (numbers, pushes), told in zip(reversed(step.folds), reversed(inner.folds), strict=True):
            self._tell(step, mine, numbers, pushes, told, small, cols)
            stories = told.stories
            if len(pushes) > 1:
                first, second = pushes
                other = self._done(small, second.own, second.acts, cols, back=True)
                one = stories[0] * small + stories[2] * other
                before = told.neither * small + stories[1] * other
            else:
                (first,) = pushes
                one, before = stories[0] * small, told.neither * small
            small = before + self._done(one, first.own, first.acts, cols, back=True)
        if step.every:
            return held(small)
        moves = step.small.square(inner.table)
        return whole(weighed(moves.swapaxes(0, 1), after), step.axes, sizes)

    def _tell(
        self,
        step: Group,
        reached: Sequence[str],
        numbers: tuple[int, ...],
        pushes: tuple[Pushes, ...],
        told: _Told,
        messages: Array,
        cols: slice,
    ) -> None:
        """Posterior and blame of the causes of a fold in a group."""
        total = safe(_sum(told.table, messages[0]))
        for cause, does, base, there in zip(numbers, pushes, told.bases, told.present, strict=True):
            present = _sum(there, messages[0])
            self.present[cols, cause] = present / total
            if not does.ways:
                continue
            sure = frozenset(way.axis for way in does.ways if step.keys[way.axis] not in reached)
            blamed = np.zeros_like(present)
            if sure:
                silent = _sum(self._done(base, *does.silent(sure), cols), messages[0])
                blamed = np.maximum(present - silent, 0.0)
            # As in `_blamed`: several ways are taken as independent once it is present.
            for way in does.ways:
                if way.axis in sure:
                    continue
                acts = [act for number, act in enumerate(does.acts) if number != way.act]
                gone = self._done(base, way.moves, acts, cols)
                one = _sum(gone, messages[reached.index(step.keys[way.axis]) + 1])
                if way.act >= 0:
                    key, chance, _ = does.acts[way.act]
                    one = one * self._works(key, chance, cols)
                blamed = blamed + one * (1.0 - blamed / safe(present))
            self.to_blame[cols, cause] = np.minimum(blamed, present) / total

    def _blocks(self, step: Bundle, cols: slice) -> Blocks:
        """The causes of a bundle with their odds and what they do, known absences included."""
        pairs, singles = step.pairs, step.singles
        return Blocks(
            np.concatenate([self._neither[pairs], self._p0[singles]]),
            np.concatenate([self._first[:, pairs], self._p1[:, singles]], axis=1),
            self._second[:, pairs],
            self._both[:, pairs],
            self._reach(step.links, cols),
            self._reach(step.mates, cols),
        )

    def _reach(self, links: Links, cols: slice) -> Reach:
        """What the causes do to the axis of their bundle."""
        known = [(link, which, key) for link, which, key in links.acts if key in self.node_factor]
        if not known:
            return Reach(links.off[None], links.on[None], links.chances[:, None])
        works = np.repeat(links.chances[:, None], cols.stop - cols.start, axis=1)
        for link, which, key in known:
            works[link, :, which] *= self.node_factor[key][cols]
        whole = works + (1.0 - links.chances)[:, None]
        off, on = np.ones(works.shape[1:]), np.zeros(works.shape[1:])
        for link, chances in enumerate(links.chances):
            on = on * whole[link] + off * works[link]
            off = off * (1.0 - chances)
        rest = [np.prod(np.delete(whole, link, axis=0), axis=0) for link in range(len(works))]
        return Reach(off, on, works * np.array(rest).reshape(works.shape))

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
        off = view[:, :, 0] * weights[:, :1, None]
        for state in range(1, top):
            off += view[:, :, state] * weights[:, state : state + 1, None]
        on = (view[:, :, top] * weights[:, top:, None]).reshape(len(alpha), -1)
        if step.above:
            push(on, step.above, [size for axis, size in enumerate(sizes) if axis != step.axis])
        result: Array = off.reshape(len(alpha), -1) + on
        return result

    def _backwards(
        self, tables: list[Array], blocks: list[Blocks | _Inner | None], cols: slice, count: int
    ) -> None:
        """From the last step to the first: what is still to come, for every state of the table.

        Beside it runs, for each open event of a complaint's tree whose being on does not yet mean that
        the complaint is reached, the same message restricted to the stories in which it is: that is
        how a cause that is present is told from one that is to blame. The messages stand one after the
        other in one array, so that each move is made once for all; `reached` names those after the first.
        """
        messages = np.ones((1, count, 1))
        reached: list[str] = []
        closed = 0
        for number in range(len(self.plan.moves) - 1, -1, -1):
            step, alpha, block = self.plan.moves[number], tables[number], blocks[number]
            sizes, names = self.plan.shapes[number]
            if isinstance(step, Open):
                if step.key in reached:
                    row = reached.index(step.key) + 1
                    messages = _stacked([messages[:row], messages[row + 1 :]])
                    reached.remove(step.key)
                messages = _unopened(messages, self.network.nodes[step.key].start)
            elif isinstance(step, Bundle):
                assert isinstance(block, Blocks)
                self._tell_bundle(messages, reached, alpha, step, block, sizes, names, cols)
                messages = messages.copy(order="K")
                block.pull(messages, step.axis, sizes)
            elif isinstance(step, Group):
                assert isinstance(block, _Inner)
                messages = self._ungroup(messages, reached, alpha, step, block, sizes, cols)
            elif isinstance(step, Fold):
                messages = self._unfold(messages, reached, alpha, step, sizes, names, cols)
            else:
                left, after = self.plan.shapes[number + 1]
                through = self._through(messages, reached, step, left, after)
                messages = self._reopen(messages, step, sizes, left, cols)
                if step.key in self.wanted:
                    self._tell_node(messages[0], alpha, step, sizes, cols)
                if through is not None:
                    messages = _stacked([messages, self._on_only(through, step, sizes, cols)])
                    reached.append(step.key)
                closed += 1
                if closed % RESCALED == 0:
                    messages = messages / safe(messages[0].max(axis=1))[:, None]

    def _unfold(
        self,
        messages: Array,
        reached: Sequence[str],
        alpha: Array,
        step: Fold,
        sizes: Sequence[int],
        names: Sequence[str],
        cols: slice,
    ) -> Array:
        """The messages before a cause (or two mates) was folded in; tells its posterior and blame."""
        stories = self._stories(step)
        moved: dict[tuple[int, ...], Array] = {(): messages}
        for pushing in stories:
            if pushing:
                moved[pushing] = moved[pushing[:-1]].copy(order="K")
                self.pull(moved[pushing], step, pushing[-1], sizes, cols)
        worth = {pushing: dot(alpha, moved[pushing][0]) for pushing in stories}
        shares = {pushing: odds[:, 0] * worth[pushing] for pushing, odds in stories.items()}
        total = safe(sum(shares.values(), np.zeros(len(alpha))))
        told = _Unfolded(step, sizes, names, reached, alpha, stories, moved, worth)
        for number, cause in enumerate(step.causes):
            present = sum((shares[p] for p in shares if number in p), np.zeros(len(alpha)))
            self.present[cols, cause] = present / total
            blamed = self._blamed(told, number, present, cols)
            if blamed is not None:
                self.to_blame[cols, cause] = np.minimum(blamed, present) / total
        return _weighted(stories, moved)

    def _blamed(self, told: _Unfolded, number: int, present: Array, cols: slice) -> Array | None:
        """The part of `present` in which a way from the cause up to a complaint held; None: it has no way."""
        step, names = told.step, told.names
        touches, acts = step.touches[number], step.acts[number]
        ways: list[tuple[int, float | Act]] = [(axis, chances[0]) for axis, chances in touches]
        ways += [(axis, act) for act in acts for axis, _ in act.touches]
        ways = [(axis, way) for axis, way in ways if names[axis] in self.network.blame]
        if not ways:
            return None
        sure = frozenset(axis for axis, _ in ways if names[axis] not in told.reached)
        blamed: Array
        blamed = (
            np.maximum(present - self._silent(told, number, sure, cols), 0.0)
            if sure
            else np.zeros_like(present)
        )
        # A cause with several ways up is to blame if one of them was gone to the end; several
        # ways are taken as independent once it is present.
        for axis, way in ways:
            if axis not in sure:
                one = self._gone(told, number, axis, way, cols)
                blamed = blamed + one * (1.0 - blamed / safe(present))
        return blamed

    def _silent(self, told: _Unfolded, number: int, sure: frozenset[int], cols: slice) -> Array:
        """The part in which the cause is present, but no link of it on the axes `sure` worked."""
        touches, acts = told.step.touches[number], told.step.acts[number]
        quiet = math.prod(1.0 - sum(chances) for axis, chances in touches if axis in sure)
        quiet *= math.prod(1.0 - act.chance for act in acts if any(axis in sure for axis, _ in act.touches))
        rest = [touch for touch in touches if touch[0] not in sure]
        left = [act for act in acts if all(axis not in sure for axis, _ in act.touches)]
        result = np.zeros(len(told.alpha))
        for pushing, odds in told.stories.items():
            if number not in pushing:
                continue
            others = tuple(each for each in pushing if each != number)
            worth = told.worth[others]
            if rest or left:
                table = told.moved[others][0].copy(order="K")
                self._pull(table, rest, left, told.sizes, cols)
                worth = dot(told.alpha, table)
            result += odds[:, 0] * quiet * worth
        return result

    def _gone(self, told: _Unfolded, number: int, axis: int, way: float | Act, cols: slice) -> Array:
        """The part in which the cause is present and this way up to an event was gone to the end."""
        row = told.reached.index(told.names[axis]) + 1
        touches, acts = told.step.touches[number], told.step.acts[number]
        result = np.zeros(len(told.alpha))
        for pushing, odds in told.stories.items():
            if number not in pushing:
                continue
            table = told.moved[tuple(each for each in pushing if each != number)][row]
            if isinstance(way, Act):
                table = self.acted(way, cols) * fire(table, axis, 1.0, told.sizes)
                pull(table, [touch for touch in way.touches if touch[0] != axis], told.sizes)
                self._pull(table, touches, [act for act in acts if act is not way], told.sizes, cols)
            else:
                table = fire(table, axis, way, told.sizes)
                self._pull(table, [touch for touch in touches if touch[0] != axis], acts, told.sizes, cols)
            result += odds[:, 0] * dot(told.alpha, table)
        return result

    def _tell_bundle(
        self,
        messages: Array,
        reached: Sequence[str],
        alpha: Array,
        step: Bundle,
        block: Blocks,
        sizes: Sequence[int],
        names: Sequence[str],
        cols: slice,
    ) -> None:
        """Posterior and blame of the causes of a bundle."""
        before, after = axis_view(alpha, step.axis, sizes), axis_view(messages[0], step.axis, sizes)
        left = _worth(before[:, :, 0], after[:, :, 0])
        raised = _worth(before[:, :, 0], after[:, :, 1])
        was_on = _worth(before[:, :, 1], after[:, :, 1])
        first, second, total = block.present(left, raised, was_on)
        total = safe(total)
        self.present[cols, step.first] = first / total
        self.present[cols, step.second] = second / total[:, : len(step.second)]
        if names[step.axis] not in self.network.blame:
            return
        gone, sure = raised + was_on, names[step.axis] not in reached
        if not sure:
            after = axis_view(messages[reached.index(names[step.axis]) + 1], step.axis, sizes)
            gone = _worth(before[:, :, 0], after[:, :, 1]) + _worth(before[:, :, 1], after[:, :, 1])
        told = zip(
            (step.first, step.second), (first, second), block.alone, (block.one, block.other), strict=True
        )
        for causes, present, odds, reach in told:
            if not len(causes):
                continue
            if sure:
                blamed = odds * reach.on * gone[:, None]
            else:
                # As in `_blamed`: several ways are taken as independent once it is present.
                blamed = np.zeros_like(present)
                for each in reach.each:
                    blamed += odds * each * gone[:, None] * (1.0 - blamed / safe(present))
            self.to_blame[cols, causes] = np.minimum(blamed, present) / total[:, : len(causes)]

    def _through(
        self,
        messages: Array,
        names: Sequence[str],
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
        beta: Array = messages[0]
        reached = dict(zip(names, messages[1:], strict=True))
        ways = [(axis, chances[0]) for axis, chances in step.above if after[axis] in blame]
        sure = not ways or any(chance == 1.0 and after[axis] not in reached for axis, chance in ways)
        if sure:
            # The top of a tree, or an event that raises it for sure: it is reached once it is on. For an
            # OR any link sees to that; a conjunction must still be complete.
            if self.network.nodes[step.key].top == 1:
                return None
            table = beta.copy(order="K")
            pull(table, step.above, left)
            return table
        if all(after[axis] not in reached for axis, _ in ways):
            silent = frozenset(axis for axis, _ in ways)
            whole = beta.copy(order="K")
            pull(whole, step.above, left)
            none = beta.copy(order="K")
            pull(none, step.above, left, silent)
            return whole - none
        rest = [touch for touch in step.above if after[touch[0]] not in blame]
        result = np.zeros_like(beta)
        for axis, chance in ways:
            table = fire(reached.get(after[axis], beta), axis, chance, left)
            pull(table, [t for t in step.above if t[0] != axis and t not in rest], left)
            result = result + table
        pull(result, rest, left)
        return result

    def _on_only(self, through: Array, step: Close, sizes: Sequence[int], cols: slice) -> Array:
        """A message after closing as one before it, in which the event is on; shape (1, columns, states)."""
        weights = self.node_weights(step.key, cols)
        result = held(np.zeros((1, math.prod(sizes), len(through))))
        view = axis_view(result, step.axis, sizes)
        view[0, :, :, -1] = through.reshape(view[0, :, :, -1].shape) * weights[:, -1:, None]
        return result

    def _reopen(
        self, messages: Array, step: Close, sizes: Sequence[int], left: Sequence[int], cols: slice
    ) -> Array:
        """The messages before an event was closed."""
        # Copied, so that the product too has the columns fastest.
        weights = self.node_weights(step.key, cols).T.copy()[:, None]
        tables, count, _ = messages.shape
        shape = (tables, math.prod(sizes[: step.axis]), 1, -1, count)
        opened = held(messages).reshape(shape) * weights
        if step.above:
            pulled = messages.copy(order="K")
            pull(pulled, step.above, left)
            opened[:, :, -1:] = held(pulled).reshape(shape) * weights[-1:]
        return held(opened.reshape(tables, -1, count))

    def _tell_node(self, opened: Array, alpha: Array, step: Close, sizes: Sequence[int], cols: slice) -> None:
        """P(the event is on), where that is wanted."""
        top = sizes[step.axis] - 1
        product = axis_view(alpha, step.axis, sizes) * axis_view(opened, step.axis, sizes)
        whole = product.sum(axis=(1, 2, 3))
        self.on[cols, self.wanted.index(step.key)] = product[:, :, top].sum(axis=(1, 2)) / safe(whole)


def _weighted(stories: Stories, tables: Mapping[tuple[int, ...], Array]) -> Array:
    """Sum of the tables by the odds of their stories."""
    parts = (odds * tables[pushing] for pushing, odds in stories.items())
    result = next(parts)
    for part in parts:
        result = result + part
    return result


def _worth(before: Array, after: Array) -> Array:
    """Sum over the states of two views (columns, states, states) of each column, shape (columns,)."""
    result: Array = np.einsum("cbq,cbq->c", before, after)
    return result


def _sum(table: Array, messages: Array) -> Array:
    """Sum over the states of small tables (states, columns) of each column, shape (columns,)."""
    result: Array = np.einsum("sc,sc->c", table, messages)
    return result


def _log(odds: Array) -> Array:
    """Log of the product over each row; -inf where a factor is 0."""
    result: Array = np.where(np.all(odds > 0.0, axis=1), np.log(safe(odds)).sum(axis=1), -np.inf)
    return result


def _one_link(act: Act) -> bool:
    """True for an act that pushes one event once, and surely: it is no more than a link."""
    return len(act.touches) == 1 and act.touches[0][1] == (1.0,)


def _stacked(parts: Sequence[Array]) -> Array:
    """Messages one after the other in one array, the columns fastest."""
    return held(np.concatenate([held(part) for part in parts]))


def _unopened(messages: Array, start: Sequence[float]) -> Array:
    """Messages before an event was opened, its axis the last."""
    view = messages.reshape(*messages.shape[:2], -1, len(start))
    result: Array = view[..., 0] * start[0]
    for state, chance in enumerate(start[1:], start=1):
        if chance:
            result += chance * view[..., state]
    return result
