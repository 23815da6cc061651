"""One car through several repairs: what was looked at, repaired and driven, round after round, in one model.

Every round has the complaint's tree once more, as `cure` writes it, without the causes put right so far;
links that do not belong to them are shared, so that all rounds speak of the very same car. What was fitted
new may itself be bad, or badly fitted: a cause of its own, with the chance that any new part has, which
counts from its round on. It raises the complaint as the old one would alone, by a link of its own.

Right after a repair a complaint that is there may stay away: the work has disturbed its cause, or it comes
and goes. Some time later it shows again if it is there; and what was fitted may have failed or come loose
since, each time by a cause of its own. docs/method.md, section 7, has the figures.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from diagnose.belief.acting import acting
from diagnose.belief.cure import Twins
from diagnose.belief.network import FRESH, Cause, Input, Network, Node, reaching

__all__ = [
    "EARLY",
    "LOOSE",
    "QUIET",
    "SETTLED_DAYS",
    "SETTLED_KM",
    "Stage",
    "Staged",
    "failing",
    "mark_of",
    "reach",
    "staged",
    "worked_in",
]

#: P(a complaint that is there stays away on the drives right after a repair) (estimate).
QUIET = 0.05

#: P(what was fitted fails or comes loose before it has settled): in general, and where the work that settles
#: it was not done (estimates).
EARLY, LOOSE = 0.02, 0.1

#: Days and km after which it has settled, whichever come first (estimates).
SETTLED_DAYS, SETTLED_KM = 90.0, 5000.0


@dataclass(frozen=True, slots=True)
class Stage:
    """One repair, or one later time. cured: causes (indices) put right. asked: keys of the findings answered
    before it, and since the stage before.

    later: no repair, but a later time. early: cause put right -> chance that what was fitted in its place has
    failed since the stage before. faded: complaints (keys) of which somebody said then, or at a later time
    before the next repair, that they have faded.
    """

    cured: frozenset[int]
    asked: frozenset[str]
    later: bool = False
    early: Mapping[int, float] = field(default_factory=dict)
    faded: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Staged:
    """A network with all rounds. Each list has an item for each stage.

    tops: complaint -> key of "it is there"; felt: complaint -> key of "it shows on the drives"; helped:
    complaint -> key of "what the last repair put right had a part in it", where that was asked for. renewed:
    cause -> what says "what was fitted in its place is bad" as it stands now: a cause, or an event's key.
    """

    network: Network
    tops: tuple[Mapping[str, str], ...]
    felt: tuple[Mapping[str, str], ...]
    helped: tuple[Mapping[str, str], ...]
    renewed: Mapping[int, int | str]


def mark_of(number: int) -> str:
    """What stands behind the key of a finding that was answered in this round (0: as it was brought), once
    a later one has begun."""
    return f"@{number}"


def worked_in(days: float | None, km: float | None) -> float:
    """How much of the time that new parts take to settle has passed, 0 to 1; all of it where nobody told."""
    if days is None and km is None:
        return 1.0
    return min(max((days or 0.0) / SETTLED_DAYS, (km or 0.0) / SETTLED_KM), 1.0)


def failing(chance: float, before: float, now: float) -> float:
    """P(it fails by `now` | it has not by `before`), as shares of the time to settle; evenly over it."""
    now = max(now, before)
    return chance * (now - before) / (1.0 - chance * before)


def reach(network: Network, cause: int, key: str) -> float:
    """P(the event is on | this cause is present, alone, and nothing leaks). Ways are taken as independent."""
    node = network.nodes[key]
    chances = []
    for each in node.inputs:
        if isinstance(each.source, str):
            below = reach(network, cause, each.source)
        else:
            below = 1.0 if each.source == cause else 0.0
        if below > 0.0:
            chances.append(below * each.chances[0])
    counts = np.zeros(node.top + 1)
    counts[0] = 1.0
    for chance in chances:
        moved = np.concatenate([[0.0], counts[:-1]]) * chance
        moved[-1] += counts[-1] * chance
        counts = counts * (1.0 - chance) + moved
    return float(counts[-1])


def staged(network: Network, keys: Collection[str], stages: Sequence[Stage]) -> Staged:
    """The network of a car that was repaired so often. keys: its complaints."""
    made = _Rounds(network, keys)
    for number, stage in enumerate(stages):
        made.add(number, stage)
    last = tuple(made.there[-1].values()) if made.there else tuple(keys)
    network = replace(made.network, blame=reaching(made.network, last))
    return Staged(network, tuple(made.there), tuple(made.felt), tuple(made.helped), dict(made.renewed))


class _Rounds:
    """A network in the making, stage by stage."""

    def __init__(self, network: Network, keys: Collection[str]) -> None:
        self.first = self.network = network
        #: Complaint -> its tree without what was put right so far.
        self.trees: dict[str, str | None] = {key: key for key in keys}
        self.there: list[dict[str, str]] = []
        self.felt: list[dict[str, str]] = []
        self.helped: list[dict[str, str]] = []
        self.renewed: dict[int, int | str] = {}
        #: Cause put right -> causes that make what stands in its place bad.
        self.bad: dict[int, list[int]] = {}
        #: (complaint, cause put right) -> events by which what was fitted raises the complaint.
        self.raising: dict[tuple[str, int], list[str]] = {}
        self._latest: dict[str, str | None] = {}

    def add(self, number: int, stage: Stage) -> None:
        """One more stage."""
        self._keep(stage.asked, number)
        helped = dict(self.helped[-1]) if stage.later and self.helped else {}
        for key in sorted(stage.faded):
            if not stage.later:
                self._help(key, stage, f"%{number + 1}", helped)
        twins = Twins(self.network, stage.cured, "~" * (number + 1))
        self.trees = {key: None if top is None else twins.make(top) for key, top in self.trees.items()}
        self.network = replace(self.network, nodes=twins.nodes, causes=tuple(twins.causes))
        for cause in sorted(stage.cured):
            self.bad[cause] = []
            for key in self.trees:
                self.raising[key, cause] = []
            self._fit(cause, "new", FRESH, number)
        for cause, chance in sorted(stage.early.items()):
            if chance > 0.0:
                self._fit(cause, f"failed-{number + 1}", chance, number)
        self._look_again(twins)
        self.there.append({key: self._there(key, number) for key in self.trees})
        self.felt.append(
            dict(self.there[-1]) if stage.later else {key: self._shows(key, number) for key in self.there[-1]}
        )
        self.helped.append(helped)

    def _put(self, node: Node) -> str:
        self.network = replace(self.network, nodes={**self.network.nodes, node.key: node})
        return node.key

    def _coin(self, name: str, fault: str, position: str, chance: float) -> int:
        self.network = replace(
            self.network, causes=(*self.network.causes, Cause(name, fault, position, chance))
        )
        return len(self.network.causes) - 1

    def _keep(self, asked: Collection[str], number: int) -> None:
        """What was answered before this stage stays as it was then."""
        nodes = dict(self.network.nodes)
        for key in asked & nodes.keys():
            if not nodes[key].counts:
                nodes[key + mark_of(number)] = replace(nodes[key], key=key + mark_of(number))
        self.network = replace(self.network, nodes=nodes)

    def _help(self, key: str, stage: Stage, mark: str, helped: dict[str, str]) -> None:
        """The event "what this stage puts right had a part in the complaint before"."""
        top, leading = self.trees[key], list[str]()
        if top is not None:
            self.network, event = acting(self.network, top, stage.cured, mark)
            leading += [event] if event is not None else []
        for cause in sorted(stage.cured):
            leading += self.raising.get((key, cause), [])
        inputs = tuple(Input(each, (1.0,)) for each in leading)
        helped[key] = self._put(Node(f"{key}{mark}helped", 1, True, (1.0, 0.0), inputs))

    def _fit(self, cause: int, how: str, chance: float, number: int) -> None:
        """What stands in the place of a cause may be bad, by a cause of its own from this stage on."""
        old = self.first.causes[cause]
        new = self._coin(f"{old.id}-{how}", old.fault, old.position, chance)
        self.bad[cause].append(new)
        for key in self.trees:
            reached = reach(self.first, cause, key)
            if reached > 0.0:
                # Whether it raises the complaint is decided once for all rounds.
                event = Node(f"{key}!{new}", 1, True, (1.0, 0.0), (Input(new, (reached,)),))
                self.raising[key, cause].append(self._put(event))
        if len(self.bad[cause]) == 1:
            self.renewed[cause] = new
        else:
            inputs = tuple(Input(each, (1.0,)) for each in self.bad[cause])
            self.renewed[cause] = self._put(Node(f"{old.id}!{number + 1}", 1, True, (1.0, 0.0), inputs))

    def _there(self, key: str, number: int) -> str:
        """The event that the complaint is there: by its tree as it is now, or by what was fitted."""
        top = self.trees[key]
        ways = [] if top is None else [Input(top, (1.0,))]
        for (complaint, _), events in self.raising.items():
            ways += [Input(each, (1.0,)) for each in events if complaint == key]
        return self._put(Node(f"{key}~{number + 1}", 1, True, (1.0, 0.0), tuple(ways)))

    def _shows(self, key: str, number: int) -> str:
        """The event that it shows on the drives right after the repair."""
        name = f"{self.there[-1][key]} shows"
        shown = Input(self.there[-1][key], (1.0 - QUIET,))
        return self._put(Node(name, 1, True, (1.0, 0.0), (shown,)))

    def _look_again(self, twins: Twins) -> None:
        """Every finding shows the car as it is now."""
        twins.nodes, twins.causes = dict(self.network.nodes), list(self.network.causes)
        for key, node in self.first.nodes.items():
            if not node.counts:
                inputs = [self._now(each, twins) for each in node.inputs]
                twins.nodes[key] = replace(node, inputs=tuple(each for each in inputs if each is not None))
        self.network = replace(self.network, nodes=twins.nodes, causes=tuple(twins.causes))

    def _now(self, each: Input, twins: Twins) -> Input | None:
        """An input of a finding as the car is now; None if nothing is left of it."""
        cause = self.first.cause_of(each.source)
        if cause is not None:
            return replace(each, source=self.renewed[cause]) if cause in self.renewed else each
        assert isinstance(each.source, str)
        known = self._latest.get(each.source, each.source)
        made = None if known is None else twins.make(known)
        if made is not None or known is not None:
            self._latest[each.source] = made
        return None if made is None else replace(each, source=made)
