"""A belief that is quicker to look ahead from: what is well explained, or long past, is taken as settled.

Each positive finding whose causes overlap with those of others keeps the exact table twice as wide. What a
next check would show hangs little on findings that a cause already explains; in a narrowed belief they are
left out, and the odds of every cause are moved so that its probability is again the exact one. What is
lost is only how causes hang together *through* those findings. What is believed, and shown, stays exact:
only the look at checks not done yet uses this (docs/method.md says how near it comes).

The idea of treating some positive findings exactly and taking the rest as factors on the causes is that
of T. S. Jaakkola and M. I. Jordan, Variational probabilistic inference and the QMR-DT network, JAIR 10,
1999; the factors here are those that keep the marginals, as in expectation propagation.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence

import numpy as np

from diagnose.belief.belief import Belief
from diagnose.belief.evidence import merge
from diagnose.belief.network import finding_key
from diagnose.belief.run import Answer
from diagnose.belief.tables import Array

__all__ = ["NARROW", "WIDE", "for_looking", "narrowed"]

#: States of the widest table above which a belief is narrowed: below, the exact look ahead is as quick.
WIDE = 768

#: States that are aimed at.
NARROW = 256

#: Findings that show what a cause does, not that it is there, are left out only where the table is wider
#: than so many times that: the factors keep what is present, not what it raises.
FOR_EVENTS = 4

#: Rounds in which the odds are moved towards the exact ones, at most, and the gap that is near enough.
ROUNDS, NEAR = 8, 0.005

#: Rounds before the last one that the next place is found from; and what keeps causes that are hardly ever,
#: or nearly always, there from counting for nothing in that.
LAST, UNMOVED = 2, 1e-6

#: What stands for 0 below a fraction line.
_LEAST = 1e-12


def for_looking(belief: Belief) -> Belief:
    """The belief to look ahead from: itself, or a narrowed one where its table is wide."""
    return narrowed(belief) if belief.answer.width > WIDE else belief


def narrowed(belief: Belief, states: int = NARROW) -> Belief:
    """A belief with nearly the same marginals and tables of about so many states.

    The belief itself where it is narrow enough, or where no finding can be left out.
    """
    if belief.answer.width <= states:
        return belief
    of_causes, of_events = _by_how_well_explained(belief)
    gone, width = _left_out(belief, set(), belief.answer.width, _of_earlier_rounds(belief), states)
    gone, width = _left_out(belief, gone, width, of_causes, states)
    gone, width = _left_out(belief, gone, width, of_events, states * FOR_EVENTS)
    return _fitted(belief, gone) if width < belief.answer.width else belief


def _fitted(belief: Belief, gone: Collection[str]) -> Belief:
    """The belief without what was observed of these, with factors on odds that bring its marginals back."""
    observations = [each for each in belief.observations if each[0] not in gone]
    # Beside the causes, what is believed of the complaints is kept: how likely each is there, and that
    # something not listed is behind it.
    nodes = belief.car.network.nodes
    kept = [
        key
        for key in belief.answer.keys
        if nodes[key].counts and nodes[key].top == 1 and 0.0 < belief.answer.node(key) < 1.0
    ]
    count = len(belief.answer.present[0])
    factors = np.concatenate([_pushed_by(belief, gone), np.ones(len(kept))])
    ask = belief.car.engine.asker([merge([*observations, *_factors(kept, factors[count:])])], belief.wanted)

    def asked(factors: Array) -> tuple[Answer, Array]:
        answer = ask(factors[:count], dict(_factors(kept, factors[count:])))
        return answer, _marginals(answer, kept)

    exact = _marginals(belief.answer, kept)
    steps = _Steps(np.sqrt(exact * (1.0 - exact) + UNMOVED))
    answer, now = asked(factors)
    for _ in range(ROUNDS):
        if float(np.abs(now - exact).max()) < NEAR:
            break
        factors = np.exp(steps.next(np.log(factors), np.log(_odds(exact) / _odds(now))))
        answer, now = asked(factors)
    return belief.instead([*observations, *_factors(kept, factors[count:])], answer, factors[:count])


def _factors(keys: Sequence[str], odds: Array) -> list[tuple[str, tuple[float, float]]]:
    """Observations that move the odds of these events, of two states each, by these factors."""
    return [(key, (1.0, float(each))) for key, each in zip(keys, odds, strict=True)]


def _marginals(answer: Answer, keys: Sequence[str]) -> Array:
    """P(present) of every cause and P(on) of these events, one after the other."""
    return np.concatenate([answer.present[0], [answer.node(key) for key in keys]])


def _pushed_by(belief: Belief, gone: Collection[str]) -> Array:
    """About what these findings make of the odds of each cause, shape (N,): a place to start from.

    For a cause, P(what was observed | it is there) over P(the same | it is not), every other cause there with
    its exact probability, by itself. Findings that events feed too push nothing here: the steps do it.
    """
    exact, nodes = belief.answer.present[0], belief.car.network.nodes
    pushed = np.zeros(len(exact))
    for key in sorted(gone):
        node, observed = nodes[key], np.array(belief.weights[key])
        sources = [each.source for each in node.inputs if isinstance(each.source, int)]
        if len(sources) < len(node.inputs):
            continue
        # P(pushed above each level), shape (inputs, states).
        above = np.array([np.cumsum((0.0, *each.chances[::-1]))[::-1] for each in node.inputs])
        low = 1.0 - exact[sources, None] * above
        others = low.prod(axis=0) * np.cumsum(node.start) / np.maximum(low, _LEAST)
        there, not_there = (
            np.diff(upto, axis=1, prepend=0.0) @ observed for upto in (others * (1.0 - above), others)
        )
        np.add.at(pushed, sources, np.log(np.maximum(there, _LEAST) / np.maximum(not_there, _LEAST)))
    result: Array = np.exp(pushed)
    return result


class _Steps:
    """The next place to try, out of the last ones: with the gap there alone, causes that explain one another
    away would overshoot by turns.

    Source: D. G. Anderson, Iterative procedures for nonlinear integral equations, JACM 12 (1965) 547-560.
    """

    def __init__(self, weights: Array) -> None:
        self._weights = weights
        self._known: list[tuple[Array, Array]] = []

    def next(self, place: Array, gap: Array) -> Array:
        """Where the gap may be nothing; shapes (N,)."""
        self._known = [*self._known[-LAST:], (place, gap)]
        if len(self._known) == 1:
            return place + gap
        places, gaps = (np.diff(np.array(each), axis=0).T for each in zip(*self._known, strict=True))
        shares = np.linalg.lstsq(gaps * self._weights[:, None], gap * self._weights, rcond=None)[0]
        result: Array = place + gap - (places + gaps) @ shares
        return result


def _left_out(
    belief: Belief, gone: Collection[str], width: int, keys: Sequence[str], states: int
) -> tuple[set[str], int]:
    """Which of these to leave out beside those that are gone, first ones first, and the states then left."""
    gone, taken = set(gone), 0
    while width > states and taken < len(keys):
        # Each halves the table at best.
        more = max(int(math.log2(width / states)), 1)
        gone |= set(keys[taken : taken + more])
        taken += more
        left = {key: weights for key, weights in belief.weights.items() if key not in gone}
        width = belief.car.engine.prepare([left], belief.wanted).plan.width
    return gone, width


def _of_earlier_rounds(belief: Belief) -> list[str]:
    """Keys of the complaints as they were before the last repair or later time, the first told first.

    Each keeps its round's tree open. What they say of the causes, the odds keep; what a check would show
    hangs on the car as it is now.
    """
    nodes, car = belief.car.network.nodes, belief.car
    now = {car.there, *car.tops.values(), *(car.felt[-1].values() if car.felt else ())}
    return [key for key in belief.weights if nodes[key].counts and key not in now]


def _by_how_well_explained(belief: Belief) -> tuple[list[str], list[str]]:
    """Keys of the positive findings that may be left out, the best explained first: those that causes show
    by being there, and those that show what they do.

    Not the complaints, nor what another finding observes once more.
    """
    library, network = belief.car.library, belief.car.network
    repeated = {finding.repeats for finding in library.findings.values() if finding.repeats}
    of_causes: dict[str, float] = {}
    of_events: dict[str, float] = {}
    for seen in belief.story.seen_now:
        key = finding_key(seen.finding, seen.position)
        if library.findings[seen.finding].repeats or seen.finding in repeated:
            continue
        weights = belief.weights.get(key)
        if weights is None or weights[0] >= max(weights):
            continue
        inputs = network.nodes[key].inputs
        explained = [
            float(belief.present[each.source]) * sum(each.chances)
            for each in inputs
            if isinstance(each.source, int) and each.source < len(belief.causes)
        ]
        kind = of_events if any(isinstance(each.source, str) for each in inputs) else of_causes
        kind[key] = max(explained, default=0.0)
    return _falling(of_causes), _falling(of_events)


def _falling(found: Mapping[str, float]) -> list[str]:
    return sorted(found, key=lambda key: (-found[key], key))


def _odds(p: Array) -> Array:
    q = np.clip(p, 1e-12, 1.0 - 1e-12)
    result: Array = q / (1.0 - q)
    return result
