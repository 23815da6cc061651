"""A second, simple implementation of the model: every state of everything, one after the other.

Slow and obvious on purpose. The engine must agree with it to 1e-9.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence

from diagnose.belief.network import Network, Node


def cause_states(network: Network) -> Iterator[tuple[tuple[int, ...], float]]:
    """Every assignment of 0/1 to the causes with its prior probability."""
    paired = {i: pair for pair in network.pairs for i in pair}
    for state in itertools.product((0, 1), repeat=len(network.causes)):
        p = 1.0
        for number, cause in enumerate(network.causes):
            if number in paired:
                continue
            p *= cause.prior if state[number] else 1.0 - cause.prior
        for (i, j), table in network.pairs.items():
            p *= table[state[i]][state[j]]
        yield state, p


def node_order(network: Network) -> list[Node]:
    """The nodes, each after those that push it."""
    ordered: list[Node] = []
    placed: set[str] = set()
    while len(ordered) < len(network.nodes):
        for key, node in network.nodes.items():
            below = {each.source for each in node.inputs if isinstance(each.source, str)}
            if key not in placed and below <= placed:
                ordered.append(node)
                placed.add(key)
    return ordered


def distribution(
    node: Node, causes: Sequence[int], states: Mapping[str, int], network: Network
) -> list[float]:
    """P(state of the node | causes and the nodes below)."""
    now = list(node.start)
    for each in node.inputs:
        if isinstance(each.source, str):
            on = states[each.source] == network.nodes[each.source].top
        else:
            on = bool(causes[each.source])
        if not on:
            continue
        after = [0.0] * (node.top + 1)
        for state, p in enumerate(now):
            if node.counts:
                after[min(state + 1, node.top)] += p * each.chances[0]
                after[state] += p * (1.0 - each.chances[0])
            else:
                after[state] += p * (1.0 - sum(each.chances))
                for level, chance in enumerate(each.chances, start=1):
                    after[max(state, level)] += p * chance
        now = after
    return now


def enumerate_all(
    network: Network, weights: Mapping[str, Sequence[float]]
) -> tuple[float, list[float], dict[str, float], dict[tuple[int, ...], float]]:
    """P(observations), P(cause | them), P(node on | them), and P(set of causes and observations)."""
    nodes = node_order(network)
    total = 0.0
    causes_on = [0.0] * len(network.causes)
    nodes_on = {node.key: 0.0 for node in nodes}
    sets: dict[tuple[int, ...], float] = {}

    def walk(depth: int, causes: tuple[int, ...], states: dict[str, int], p: float) -> None:
        nonlocal total
        if p == 0.0:
            return
        if depth == len(nodes):
            total += p
            sets[causes] = sets.get(causes, 0.0) + p
            for number, value in enumerate(causes):
                causes_on[number] += p * value
            for node in nodes:
                if states[node.key] == node.top:
                    nodes_on[node.key] += p
            return
        node = nodes[depth]
        seen = weights.get(node.key, [1.0] * (node.top + 1))
        for state, chance in enumerate(distribution(node, causes, states, network)):
            walk(depth + 1, causes, {**states, node.key: state}, p * chance * seen[state])

    for causes, prior in cause_states(network):
        walk(0, causes, {}, prior)
    if total == 0.0:
        return 0.0, [], {}, sets
    return (
        total,
        [value / total for value in causes_on],
        {key: value / total for key, value in nodes_on.items()},
        sets,
    )


Fallen = Mapping[tuple[str, int], int]


def worlds(
    network: Network, weights: Mapping[str, Sequence[float]]
) -> Iterator[tuple[float, tuple[int, ...], Fallen, dict[str, int]]]:
    """Every world: P(it and the observations), causes, how each link and leak fell, node states.

    A coin is (node, input number), or (node, -1) for its leak; it falls to 0 or to a level.
    """
    nodes = node_order(network)
    coins: list[tuple[str, int]] = []
    ways: list[list[tuple[int, float]]] = []
    for node in nodes:
        falls = {-1: list(node.start)}
        for number, each in enumerate(node.inputs):
            falls[number] = [1.0 - sum(each.chances), *each.chances]
        for number, chances in falls.items():
            coins.append((node.key, number))
            # Without those that never happen: most of the worlds would be theirs.
            ways.append([(pick, chance) for pick, chance in enumerate(chances) if chance != 0.0])

    for causes, prior in cause_states(network):
        for picks in itertools.product(*ways):
            p = prior
            for _, chance in picks:
                p *= chance
            if p == 0.0:
                continue
            fallen = {coin: pick for coin, (pick, _) in zip(coins, picks, strict=True)}
            states = evaluate(network, nodes, causes, fallen)
            for k, seen in weights.items():
                p *= seen[states[k]]
            if p > 0.0:
                yield p, causes, fallen, states


def evaluate(
    network: Network, nodes: Sequence[Node], causes: Sequence[int], fallen: Fallen
) -> dict[str, int]:
    """State of every node, each after those that push it, when the coins have fallen so."""
    states: dict[str, int] = {}
    for node in nodes:
        state = fallen[node.key, -1]
        for number, each in enumerate(node.inputs):
            if isinstance(each.source, str):
                on = states[each.source] == network.nodes[each.source].top
            else:
                on = bool(causes[each.source])
            if on and fallen[node.key, number]:
                level = fallen[node.key, number]
                state = min(state + 1, node.top) if node.counts else max(state, level)
        states[node.key] = state
    return states


def left_over(
    network: Network, key: str, cured: frozenset[int], weights: Mapping[str, Sequence[float]]
) -> float:
    """P(node `key` on with the causes `cured` sound | observations): the same coins in both worlds."""
    nodes = node_order(network)
    total = still = 0.0
    for p, causes, fallen, _ in worlds(network, weights):
        total += p
        sound = tuple(0 if n in cured else value for n, value in enumerate(causes))
        if evaluate(network, nodes, sound, fallen)[key] == network.nodes[key].top:
            still += p
    return still / total


def blamed(network: Network, top: str, weights: Mapping[str, Sequence[float]]) -> list[float]:
    """P(cause present, and a chain of links that worked goes from it up to `top`, all gates on | ...)."""
    total = 0.0
    found = [0.0] * len(network.causes)
    for p, causes, fallen, states in worlds(network, weights):
        total += p
        reached: set[int] = set()
        waiting = [top]
        while waiting:
            key = waiting.pop()
            if states[key] != network.nodes[key].top:
                continue
            for number, each in enumerate(network.nodes[key].inputs):
                if not fallen[key, number]:
                    continue
                if isinstance(each.source, str):
                    waiting.append(each.source)
                elif causes[each.source]:
                    reached.add(each.source)
        for cause in reached:
            found[cause] += p
    return [value / total for value in found]
