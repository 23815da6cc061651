"""Cars drawn from a model: which faults they have, what each check shows, what each cure ends.

A car is drawn whole: every cause, every link and every false alarm falls once, like coins, and stays as it
fell. So each way of searching meets the very same car, and a cure ends the complaint if, with the same
coins, nothing is left to raise it.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from diagnose.belief.belief import Car, places
from diagnose.belief.evidence import Weights
from diagnose.belief.network import Network, Node, finding_key, reaching
from diagnose.choice.outcomes import Spot
from diagnose.model.story import Heard, Seen

__all__ = ["Drawn", "draw", "heard"]

#: Cars drawn at once; those without the complaint are thrown away.
BATCH = 2048

Coins = Mapping[str, NDArray[np.int8]]


@dataclass(eq=False)
class Drawn:
    """One car. present: the causes that it has (indices).

    coins: node -> for each of its inputs the level to which that raises it if it is on, and last what
    it is at without any. again: for findings that observe an event once more, a number in 0..1.
    """

    car: Car
    present: frozenset[int]
    coins: Coins
    again: Mapping[Spot, float]
    _known: dict[tuple[str, frozenset[int]], int] = field(default_factory=dict)

    def state(self, key: str, cured: frozenset[int] = frozenset()) -> int:
        """The state of an event once these causes were put right."""
        name = (key, cured)
        if name not in self._known:
            network = self.car.plain.network
            node, fell = network.nodes[key], self.coins[key]
            raised = [int(fell[-1])]
            for each, level in zip(node.inputs, fell, strict=False):
                if level and self._on(network, each.source, cured):
                    raised.append(int(level))
            self._known[name] = min(sum(raised), node.top) if node.counts else max(raised)
        return self._known[name]

    def _on(self, network: Network, source: int | str, cured: frozenset[int]) -> bool:
        if isinstance(source, int):
            return source in self.present and source not in cured
        return self.state(source, cured) == network.nodes[source].top

    def complaint(self, cured: frozenset[int] = frozenset()) -> bool:
        """True if one of the complaints is there once these causes were put right."""
        nodes = self.car.plain.network.nodes
        return any(
            self.state(each, cured) == nodes[each].top for each in self.car.complaints if each in nodes
        )

    def answer(self, spot: Spot, cured: frozenset[int] = frozenset()) -> Seen:
        """What a careful technician sees, once these causes were put right."""
        finding = self.car.library.findings[spot.finding]
        if finding.repeats:
            target = finding.repeats
            listed = self.car.library.findings.get(target)
            key = finding_key(target, spot.position if listed is not None and listed.where else None)
            node = self.car.plain.network.nodes[key]
            there = self.state(key, cured) >= (node.top if node.counts else 1)
            seen = self.again[spot] < (finding.hit if there else finding.false_alarm[0])
            return Seen(spot.finding, spot.position, "yes" if seen else "no")
        level = self.state(finding_key(spot.finding, spot.position), cured)
        return Seen(spot.finding, spot.position, finding.levels[level - 1] if level else "no")


def draw(
    car: Car,
    count: int,
    random: np.random.Generator,
    observed: Sequence[tuple[str, Weights]] = (),
    findings: bool = True,
    most: int = sys.maxsize,
) -> Iterator[Drawn]:
    """So many cars that have one of the complaints, as the model has them, and whose driver says so.

    observed: events with the likelihood of what was seen of them at each state, as `evidence.observe` gives
    them: a car is kept with the chance that it would have shown just that, up to a common factor. findings:
    False leaves out whatever does not bear on the complaints and on what was observed. most: cars drawn at
    most, kept or not.
    """
    network = car.plain.network
    tops = tuple(each for each in car.complaints if each in network.nodes)
    first = _below(network, (*tops, *(key for key, _ in observed)))
    rest = _below(network, tuple(network.nodes)) if findings else []
    named = {node.key for node in first}
    others = [node for node in rest if node.key not in named]
    unseen = _Coins(others)
    library = car.library
    repeated = [
        Spot(name, place)
        for check in car.checks.values()
        for name in (check.findings if findings else ())
        if library.findings[name].repeats
        for place in places(library, name)
    ]
    found = 0
    for _ in range(0, most, BATCH):
        if found >= count:
            break
        present = _presence(network, BATCH, random)
        levels: dict[str, NDArray[np.intp]] = {}
        coins: dict[str, NDArray[np.int8]] = {}
        for node in first:
            _fall(node, network, present, levels, coins, random, BATCH)
        there = np.zeros(BATCH, dtype=bool)
        told = np.ones(BATCH, dtype=bool)
        for top in tops:
            on = levels[top] == network.nodes[top].top
            there |= on
            hit, alarm = library.complaints[top].heard
            told &= random.random(BATCH) < np.where(on, hit, alarm)
        for key, weights in observed:
            likely = np.array(weights) / max(weights)
            told &= random.random(BATCH) < likely[levels[key]]
        for row in np.flatnonzero(there & told)[: count - found]:
            own = {key: fell[row] for key, fell in coins.items()}
            for node, fell in zip(others, unseen.toss(random, 1), strict=True):
                own[node.key] = fell[0]
            again = {spot: float(random.random()) for spot in repeated}
            yield Drawn(car, frozenset(int(n) for n in np.flatnonzero(present[row])), own, again)
            found += 1


def heard(car: Car) -> tuple[Heard, ...]:
    """The complaints as the driver tells them."""
    return tuple(Heard(complaint, side) for complaint, side in car.complaints.items())


def _below(network: Network, tops: tuple[str, ...]) -> list[Node]:
    """The nodes that feed these and themselves, each after what feeds it."""
    wanted = reaching(network, tops)
    order: list[Node] = []
    placed: set[str] = set()

    def place(key: str) -> None:
        if key in placed:
            return
        placed.add(key)
        for each in network.nodes[key].inputs:
            if isinstance(each.source, str):
                place(each.source)
        order.append(network.nodes[key])

    for key in network.nodes:
        if key in wanted:
            place(key)
    return order


def _presence(network: Network, rows: int, random: np.random.Generator) -> NDArray[np.bool_]:
    """Which causes each car has, shape (rows, N)."""
    prior = np.array([cause.prior for cause in network.causes])
    present = random.random((rows, len(prior))) < prior
    for (i, j), table in network.pairs.items():
        given = np.where(
            present[:, i],
            table[1][1] / (table[1][0] + table[1][1]),
            table[0][1] / (table[0][0] + table[0][1]),
        )
        present[:, j] = random.random(rows) < given
    return present


class _Coins:
    """How the links of some nodes and their leaks (or false alarms) fall, one node after the other."""

    def __init__(self, nodes: Sequence[Node]) -> None:
        ways = [
            chances
            for node in nodes
            for chances in (*((1.0 - sum(each.chances), *each.chances) for each in node.inputs), node.start)
        ]
        # Rows of as many bounds: a bound that is not there is never passed, nor is the last one, which is 1.
        self._bounds = np.full((len(ways), max((len(chances) - 1 for chances in ways), default=0)), np.inf)
        for row, chances in enumerate(ways):
            self._bounds[row, : len(chances) - 1] = np.cumsum(chances)[:-1]
        self._ends = np.cumsum([len(node.inputs) + 1 for node in nodes])

    def toss(self, random: np.random.Generator, rows: int) -> list[NDArray[np.int8]]:
        """For each node, shape (rows, inputs + 1): the level to which each link raises it, its leak last."""
        tossed = random.random((len(self._bounds), rows))
        fell = np.zeros(tossed.shape, dtype=np.int8)
        for bound in self._bounds.T:
            fell += tossed >= bound[:, None]
        return np.split(fell.T, self._ends, axis=1)[:-1]


def _fall(
    node: Node,
    network: Network,
    present: NDArray[np.bool_],
    levels: dict[str, NDArray[np.intp]],
    coins: dict[str, NDArray[np.int8]],
    random: np.random.Generator,
    rows: int,
) -> None:
    """Draw a node that feeds a complaint: `levels` takes the state that it is in."""
    (fell,) = _Coins([node]).toss(random, rows)
    total = fell[:, -1].astype(int)
    for column, each in enumerate(node.inputs):
        if isinstance(each.source, int):
            on = present[:, each.source]
        else:
            on = levels[each.source] == network.nodes[each.source].top
        raised = np.where(on, fell[:, column], 0)
        total = total + raised if node.counts else np.maximum(total, raised)
    coins[node.key] = fell
    levels[node.key] = np.minimum(total, node.top)
