"""The few most probable sets of causes together, exactly.

Marginals need not sum to one and do not say which causes belong together. The search goes through the
same steps as the engine; a set is followed only while its best possible completion is among the best
(A*: the bound takes, from the end backwards, the better of absent and present in every state).
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.belief.engine import Engine, Weights
from diagnose.belief.run import Run
from diagnose.belief.schedule import Close, Fold, Open
from diagnose.belief.tables import Array, pull

__all__ = ["Together", "most_probable_sets"]

#: Partial sets looked at before the search gives up and returns what is proven so far.
MOST_STEPS = 60_000


@dataclass(frozen=True, slots=True)
class Together:
    """A set of causes (indices, rising) present together with all others absent."""

    causes: tuple[int, ...]
    probability: float


def most_probable_sets(engine: Engine, weights: Weights, count: int = 3) -> list[Together]:
    """The `count` most probable sets given the observations, most probable first.

    Every set returned is proven to be the best not yet returned; the list is shorter when the search
    would grow beyond its limit. Causes that no open event depends on are taken at their likelier value.
    """
    search = _Search(engine, weights)
    return search.best(count)


class _Search:
    def __init__(self, engine: Engine, weights: Weights) -> None:
        self.log_evidence = float(engine.ask([weights]).log_evidence[0])
        ready = engine.prepare([weights], ())
        self.plan = ready.plan
        self.run = Run(engine.prior, ready, ())
        self.network = ready.plan.network
        self.choices = self._choices(engine.prior)
        self.sizes = self._sizes()
        self.bounds = self._bounds()

    def _choices(self, prior: Array) -> Mapping[tuple[int, ...], list[tuple[tuple[int, ...], float]]]:
        """For each block of causes: which are present, and the weight of that."""
        factor = self.run.factor[0]
        found: dict[tuple[int, ...], list[tuple[tuple[int, ...], float]]] = {}
        for cause, p in enumerate(prior):
            found[(cause,)] = [((), 1.0 - p), ((cause,), float(p * factor[cause]))]
        for (i, j), ((p00, p01), (p10, p11)) in self.network.pairs.items():
            found[i, j] = [
                ((), p00),
                ((i,), p10 * factor[i]),
                ((j,), p01 * factor[j]),
                ((i, j), p11 * factor[i] * factor[j]),
            ]
        return found

    def _sizes(self) -> list[tuple[int, ...]]:
        """Sizes of the open axes before each step."""
        shapes: list[tuple[int, ...]] = []
        sizes: list[int] = []
        for step in self.plan.steps:
            shapes.append(tuple(sizes))
            if isinstance(step, Open):
                sizes.append(self.network.nodes[step.key].top + 1)
            elif isinstance(step, Close):
                del sizes[step.axis]
        return shapes

    def _pulled(self, step: Fold, present: tuple[int, ...], table: Array, sizes: Sequence[int]) -> Array:
        result = table.copy()
        for number, cause in enumerate(step.causes):
            if cause in present:
                self.run.pull(result, step, number, sizes, slice(0, 1))
        return result

    def _bounds(self) -> list[Array]:
        """Before each step, for each state: the most that the rest can be worth."""
        bound = np.ones((1, 1))
        bounds = [bound]
        for step, sizes in zip(reversed(self.plan.steps), reversed(self.sizes), strict=True):
            if isinstance(step, Open):
                start = np.array(self.network.nodes[step.key].start)
                bound = bound.reshape(1, -1, len(start)) @ start
            elif isinstance(step, Fold):
                options = [
                    weight * self._pulled(step, present, bound, sizes)
                    for present, weight in self.choices[step.causes]
                ]
                bound = np.max(np.stack(options), axis=0)
            else:
                bound = self._reopen(bound, step, sizes)
            bounds.append(bound)
        bounds.reverse()
        return bounds

    def _reopen(self, bound: Array, step: Close, sizes: Sequence[int]) -> Array:
        weights = self.run.node_weights(step.key, slice(0, 1))
        left = [size for axis, size in enumerate(sizes) if axis != step.axis]
        pulled = bound.copy()
        pull(pulled, step.above, left)
        top = sizes[step.axis] - 1
        before = int(np.prod(sizes[: step.axis], dtype=int))
        off = bound.reshape(1, before, 1, -1) * weights[:, None, :top, None]
        on = pulled.reshape(1, before, 1, -1) * weights[:, None, top:, None]
        return np.concatenate([off, on], axis=2).reshape(1, -1)

    def _after(self, table: Array, step: Open | Close, sizes: Sequence[int]) -> Array:
        if isinstance(step, Open):
            start = np.array(self.network.nodes[step.key].start)
            opened: Array = (table[:, :, None] * start).reshape(1, -1)
            return opened
        return self.run.close(table, step, sizes, slice(0, 1))

    def best(self, count: int) -> list[Together]:
        base, always = self._rest()
        if not np.isfinite(self.log_evidence):
            return []
        found: list[Together] = []
        tie = itertools.count()
        first = (-float(self.bounds[0][0, 0]), next(tie), 0, (), np.ones((1, 1)))
        heap: list[tuple[float, int, int, tuple[int, ...], Array]] = [first]
        looked = 0
        while heap and len(found) < count and looked < MOST_STEPS:
            worth, _, at, present, table = heapq.heappop(heap)
            looked += 1
            while at < len(self.plan.steps) and not isinstance(self.plan.steps[at], Fold):
                step = self.plan.steps[at]
                assert not isinstance(step, Fold)
                table = self._after(table, step, self.sizes[at])
                at += 1
            if at == len(self.plan.steps):
                if worth < 0.0:
                    log_p = float(np.log(-worth)) + base - self.log_evidence
                    causes = tuple(sorted((*present, *always)))
                    found.append(Together(causes, float(np.exp(min(log_p, 0.0)))))
                continue
            fold = self.plan.steps[at]
            assert isinstance(fold, Fold)
            for chosen, weight in self.choices[fold.causes]:
                moved = table.copy()
                for number, cause in enumerate(fold.causes):
                    if cause in chosen:
                        self.run.push(moved, fold, number, self.sizes[at], slice(0, 1))
                moved *= weight
                bound = float((moved * self.bounds[at + 1]).sum())
                if bound > 0.0:
                    heapq.heappush(heap, (-bound, next(tie), at + 1, (*present, *chosen), moved))
        return found

    def _rest(self) -> tuple[float, tuple[int, ...]]:
        """Log weight and set of the causes that the table does not hold, each at its likelier value."""
        folded = {c for step in self.plan.steps if isinstance(step, Fold) for c in step.causes}
        log_weight = float(self.run.log_base[0])
        always: tuple[int, ...] = ()
        for block, options in self.choices.items():
            single = len(block) == 1 and any(block[0] in pair for pair in self.network.pairs)
            if single or set(block) & folded:
                continue
            present, weight = max(options, key=lambda option: option[1])
            log_weight += float(np.log(weight))
            always += present
        return log_weight, always
