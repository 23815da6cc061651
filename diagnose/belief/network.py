"""One car's model: its causes with their priors, and the events that causes raise.

A library says what can happen to any car; `expand` narrows it to one vehicle and the complaints
heard about it. The result holds

* causes, binary, independent but for pairs of mates on one axle;
* event nodes, each a small counter that causes and other nodes push upwards: a gate counts how many
  of its branches are on (1 of n is OR, n of n is AND), a finding keeps the highest level raised.

Everything that follows (posteriors, predictions, cures) is a question about these nodes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from diagnose.model.check import TALK
from diagnose.model.complaint import Complaint, Gate, Leaf, Use, leaves
from diagnose.model.library import Library
from diagnose.model.part import Fault, Fits
from diagnose.model.position import WHERE, mates, meets, other_side, side_of
from diagnose.model.vehicle import Renewed, Vehicle

__all__ = [
    "FRESH",
    "Cause",
    "Input",
    "Network",
    "Node",
    "cause_id",
    "clocks",
    "expand",
    "fitted",
    "plackett",
    "was_renewed",
]

#: Odds below this are as good as never, odds above its inverse as good as certain: no zeros, no ones.
FLOOR = 1e-9

#: P(a part that was renewed is a faulty one, or was fitted badly) (estimate).
FRESH = 0.03


@dataclass(frozen=True, slots=True)
class Cause:
    """One fault at one position of this car; `prior` in (0, 1) before any answer."""

    id: str
    fault: str
    position: str
    prior: float


@dataclass(frozen=True, slots=True)
class Input:
    """What pushes a node: a cause (by index) or another node (by key), once it is present or on.

    chances: for a gate one figure, P(it counts as one branch); for a finding P(it raises exactly
    level 1, 2, ...). Together at most 1. leaf: the row of the tree that the chance of a cause came from.
    """

    source: int | str
    chances: tuple[float, ...]
    leaf: Leaf | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Node:
    """An event: a gate (`counts`, on at state `top`) or a finding (keeps the highest level).

    start: P(state 0..top) before any input: the leak of a gate, the false alarms of a finding.
    """

    key: str
    top: int
    counts: bool
    start: tuple[float, ...]
    inputs: tuple[Input, ...]


@dataclass(frozen=True)
class Network:
    """The expanded model of one car.

    pairs: (i, j) -> joint prior ((p00, p01), (p10, p11)) of two mates; a cause is in one pair at most.
    complaints: complaint id -> side named, for those whose tree is in `nodes` under their own id.
    blame: keys of the nodes inside those trees, for telling present from to blame.
    acting: key of a node "this cause raises this branch of a tree" -> index of the cause; there is one
    for each way in which a cause that findings about the complaint point to enters a tree.
    facts: fact -> value, what is known of the car's layout.
    """

    causes: tuple[Cause, ...]
    pairs: Mapping[tuple[int, int], tuple[tuple[float, float], tuple[float, float]]]
    nodes: Mapping[str, Node]
    complaints: Mapping[str, str | None] = field(default_factory=dict)
    blame: frozenset[str] = frozenset()
    acting: Mapping[str, int] = field(default_factory=dict)
    facts: Mapping[str, str] = field(default_factory=dict)
    index: Mapping[str, int] = field(default_factory=dict)

    @cached_property
    def suspects(self) -> frozenset[int]:
        """Indices of the causes that can raise one of the complaints."""
        sources = (each.source for key in self.blame for each in self.nodes[key].inputs)
        return frozenset(source for source in sources if isinstance(source, int))

    def cause_of(self, source: int | str) -> int | None:
        """The cause that an input stands for: itself, or the one that acts in it; None for a mechanism."""
        return source if isinstance(source, int) else self.acting.get(source)

    def instances(self, fault: str, position: str | None = None) -> list[int]:
        """Indices of the causes of one fault whose position does not contradict `position`."""
        return [
            number
            for number, cause in enumerate(self.causes)
            if cause.fault == fault and meets(position, cause.position)
        ]


def plackett(p: float, q: float, odds_ratio: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """The two-by-two table with marginals p and q in (0, 1) and that odds ratio > 0.

    Returns ((p00, p01), (p10, p11)); the first index belongs to p.
    Source: R. L. Plackett, A class of bivariate distributions, JASA 60 (1965) 516-522.
    """
    if abs(odds_ratio - 1.0) < 1e-12:
        both = p * q
    else:
        s = 1.0 + (p + q) * (odds_ratio - 1.0)
        root = math.sqrt(max(s * s - 4.0 * odds_ratio * (odds_ratio - 1.0) * p * q, 0.0))
        # The form without cancellation: 2 psi p q / (s + root).
        both = 2.0 * odds_ratio * p * q / (s + root)
    both = min(max(both, 0.0), min(p, q))
    return ((max(1.0 - p - q + both, 0.0), q - both), (p - both, both))


def cause_id(fault: str, position: str, where: str) -> str:
    """The id of a cause: the fault's own where it has one place, else with its position."""
    return fault if len(WHERE[where]) == 1 else f"{fault}-{position}"


def fitted(fits: Iterable[Fits], facts: Mapping[str, str], library: Library) -> float:
    """P(this car has the layout) in [0, 1]: 1 or 0 where the facts are known, else by their shares."""
    allowed: dict[str, set[str]] = {}
    for each in fits:
        for fact, admitted in each.items():
            allowed[fact] = allowed[fact] & set(admitted) if fact in allowed else set(admitted)
    chance = 1.0
    for fact, values in allowed.items():
        known = facts.get(fact)
        if known is not None:
            chance *= 1.0 if known in values else 0.0
            continue
        shares = {value.id: value.share for value in library.facts[fact].values}
        whole = sum(shares.values())
        # In the order of the fact, not of the set: sums must not depend on how text is hashed.
        chance *= sum(share for value, share in shares.items() if value in values) / whole
    return min(chance, 1.0)


def clocks(vehicle: Vehicle, part: str, position: str) -> tuple[float | None, float | None]:
    """Distance and age of the fitted part: the car's own, or since the latest renewal known."""
    km, years = vehicle.km, vehicle.years
    for renewed in vehicle.renewed:
        if renewed.part == part and meets(renewed.position, position):
            km, years = _since(vehicle, renewed)
    return km, years


def was_renewed(vehicle: Vehicle, part: str, position: str) -> bool:
    """True if the part at this position is known to have been renewed."""
    return any(each.part == part and meets(each.position, position) for each in vehicle.renewed)


def _since(vehicle: Vehicle, renewed: Renewed) -> tuple[float, float]:
    """Clocks since a renewal; a clock that was not told is taken from the other at the car's own pace."""
    pace = (vehicle.km / vehicle.years) if vehicle.km and vehicle.years else 14_500.0
    km: float | None = None
    if renewed.at_km is not None and vehicle.km is not None:
        km = max(vehicle.km - renewed.at_km, 0.0)
    years = renewed.years_ago
    if km is None:
        km = years * pace if years is not None else 0.0
    if years is None:
        years = km / pace
    return km, years


def _prior(fault: Fault, position: str, share: float, vehicle: Vehicle) -> float:
    """P(cause present) of one instance: life or chance, known conditions, share of layouts."""
    km, years = clocks(vehicle, fault.part, position)
    p = fault.prior(km, years)
    if fault.life is not None and was_renewed(vehicle, fault.part, position):
        # What was just fitted may be the faulty part, or badly fitted.
        p = 1.0 - (1.0 - p) * (1.0 - FRESH)
    odds = p / (1.0 - p)
    for condition, factor in fault.lifts.items():
        if vehicle.conditions.get(condition):
            odds *= factor
    odds = min(max(odds, FLOOR), 1.0 / FLOOR)
    return share * odds / (1.0 + odds)


def expand(
    library: Library,
    vehicle: Vehicle,
    complaints: Mapping[str, str | None],
    findings: Iterable[tuple[str, str | None]] = (),
) -> Network:
    """The model of one car.

    complaints: complaint id -> side named (None: not sided, or not told).
    findings: (finding id, position or None) to have as nodes; see `with_findings`.
    Raises KeyError for an id that the library does not have.
    """
    causes: list[Cause] = []
    pairs: dict[tuple[int, int], tuple[tuple[float, float], tuple[float, float]]] = {}
    for fault in library.faults.values():
        part = library.parts[fault.part]
        share = fitted((part.fits, fault.fits), vehicle.facts, library)
        if share <= 0.0:
            continue
        first = len(causes)
        for position in WHERE[fault.where]:
            prior = _prior(fault, position, share, vehicle)
            causes.append(Cause(cause_id(fault.id, position, fault.where), fault.id, position, prior))
        if fault.mates != 1.0:
            here = range(first, len(causes))
            for i in here:
                for j in here:
                    if i < j and mates(causes[i].position, causes[j].position):
                        pairs[i, j] = plackett(causes[i].prior, causes[j].prior, fault.mates)
    index = {cause.id: number for number, cause in enumerate(causes)}
    bare = Network(tuple(causes), pairs, {}, dict(complaints), facts=dict(vehicle.facts), index=index)
    builder = _Builder(library, bare)
    for complaint, side in complaints.items():
        builder.complaint(library.complaints[complaint], side)
    network = replace(bare, nodes=builder.nodes)
    network = replace(network, blame=reaching(network, tuple(complaints)))
    return with_findings(library, network, findings)


def finding_key(finding: str, position: str | None) -> str:
    """The node key of a finding at a position."""
    return finding if position is None else f"{finding}@{position}"


def with_findings(library: Library, network: Network, findings: Iterable[tuple[str, str | None]]) -> Network:
    """The same network with a node for each of these findings (those that have links)."""
    builder = _Builder(library, network)
    for finding, position in findings:
        builder.finding(finding, position)
    if builder.acting == network.acting:
        return replace(network, nodes=builder.nodes)
    network = replace(network, nodes=builder.nodes, acting=builder.acting)
    return replace(network, blame=reaching(network, tuple(network.complaints)))


class _Builder:
    """Turns gates and findings into nodes, each once."""

    def __init__(self, library: Library, network: Network) -> None:
        self.library = library
        self.network = network
        self.nodes: dict[str, Node] = dict(network.nodes)
        self.acting: dict[str, int] = dict(network.acting)
        self._ways: dict[int, tuple[str, ...]] = {}
        self._by_fault: dict[str, list[int]] = {}
        for number, cause in enumerate(network.causes):
            self._by_fault.setdefault(cause.fault, []).append(number)

    def complaint(self, complaint: Complaint, side: str | None) -> None:
        """Add the tree of a complaint; its top event has the complaint's id as key."""
        # A cause outside the tree acts to either side as well.
        top = complaint.top
        if complaint.sided and side is not None:
            top = replace(top, leak=top.leak / 2.0)
        self._gate(top, complaint.id, complaint.sided, side)

    def _gate(self, gate: Gate, key: str, sided: bool, side: str | None) -> str | None:
        """Add a gate and what stands below it; None if nothing on this car can raise it."""
        if key in self.nodes:
            return key
        inputs: list[Input] = []
        for number, branch in enumerate(gate.branches):
            inputs += self._branch(branch, f"{key}.{number}", gate, sided, side)
        reachable = len(inputs) >= gate.need
        if not reachable and gate.leak <= 0.0:
            return None
        if gate.need == 1:
            self.nodes[key] = Node(key, 1, True, (1.0 - gate.leak, gate.leak), tuple(inputs))
            return key
        core = f"{key}.core" if gate.leak > 0.0 else key
        if reachable:
            start = (1.0,) + (0.0,) * gate.need
            self.nodes[core] = Node(core, gate.need, True, start, tuple(inputs))
        if gate.leak > 0.0:
            # A leak raises the whole gate, not one branch of it: an OR above the count.
            above = (Input(core, (1.0,)),) if reachable else ()
            self.nodes[key] = Node(key, 1, True, (1.0 - gate.leak, gate.leak), above)
        return key

    def _branch(
        self, branch: Leaf | Use | Gate, key: str, parent: Gate, sided: bool, side: str | None
    ) -> list[Input]:
        share = self._share(branch)
        if share <= 0.0:
            return []
        if isinstance(branch, Leaf):
            return self._leaf(branch, share, key, parent, sided, side)
        strength = branch.strength * share
        if isinstance(branch, Use):
            gate = self.library.mechanisms[branch.mechanism]
            below = self._gate(gate, branch.mechanism, sided, side)
            return [Input(below, (strength,))] if below else []
        below = self._gate(branch, branch.id or key, sided, side)
        if sided and side is not None and branch.need > 1 and not _names_a_side(branch):
            strength /= 2.0  # the whole conjunction is as likely to act to either side
        return [Input(below, (strength,))] if below else []

    def _share(self, branch: Leaf | Use | Gate) -> float:
        """P(the branch leads to its gate on this car's layout); of a leaf, given that its part is fitted."""
        if not branch.fits:
            return 1.0
        facts, library = self.network.facts, self.library
        if not isinstance(branch, Leaf):
            return fitted((branch.fits,), facts, library)
        fault = library.faults[branch.fault]
        own = (library.parts[fault.part].fits, fault.fits)
        part = fitted(own, facts, library)
        return fitted((*own, branch.fits), facts, library) / part if part > 0.0 else 0.0

    def _leaf(
        self, leaf: Leaf, share: float, key: str, parent: Gate, sided: bool, side: str | None
    ) -> list[Input]:
        inputs: dict[int, float] = {}
        for number in self._by_fault.get(leaf.fault, ()):
            position = self.network.causes[number].position
            strength = share * _strength(leaf, position, sided, side, whole=parent.need > 1)
            if strength > 0.0:
                inputs[number] = strength
        listed = [Input(number, (strength,), leaf) for number, strength in inputs.items()]
        if parent.need == 1 or len(listed) <= 1:
            return listed
        # Under AND and votes the positions of one fault are one branch together.
        self.nodes[key] = Node(key, 1, True, (1.0, 0.0), tuple(listed))
        return [Input(key, (1.0,))]

    def finding(self, finding_id: str, position: str | None) -> None:
        """Add the node of a finding; one that repeats an event has no node of its own.

        What the driver tells is told of the complaint: how it began, what was done before it; and so is
        what a trial tells of it, that it goes with other wheels on. A fault has a part in such an answer
        only where it acts: where it raises a branch of the complaint's tree. One that is there and does
        nothing to the complaint has none, however often cars have it.
        """
        finding = self.library.findings[finding_id]
        key = finding_key(finding_id, position)
        if finding.repeats:
            target = finding.repeats
            if target in self.library.findings:
                self.finding(target, position if self.library.findings[target].where else None)
            return
        if key in self.nodes:
            return
        of_complaint = finding.of_complaint or self.library.checks[finding.check].set_up == TALK
        suspects = self.network.suspects if of_complaint and self.network.blame else None
        inputs: list[Input] = []
        for link in finding.links:
            if link.kind == "mechanism":
                gate = self.library.mechanisms[link.target]
                if self.network.blame and link.target not in self.network.blame:
                    if suspects is None:
                        inputs += self._showing(gate, link.detection)
                    continue
                below = self._gate(gate, link.target, False, None)
                if below is not None:
                    inputs.append(Input(below, link.detection))
                continue
            for number in self._by_fault.get(link.target, ()):
                if not meets(position, self.network.causes[number].position):
                    continue
                if suspects is None:
                    inputs.append(Input(number, link.detection))
                elif number in suspects:
                    inputs += [Input(way, link.detection) for way in self._acting(number)]
        start = (1.0 - sum(finding.false_alarm), *finding.false_alarm)
        self.nodes[key] = Node(key, len(finding.levels), False, start, tuple(inputs))

    def _showing(self, gate: Gate, detection: tuple[float, ...]) -> list[Input]:
        """Inputs of a finding that points to a mechanism of a complaint that was not told.

        No such event is kept: each of its causes shows by itself, as often as it raises the mechanism
        and the mechanism shows. What takes several causes together is left out.
        """
        return [
            Input(number, tuple(chance * each for each in detection))
            for number, chance in sorted(self._raising(gate).items())
        ]

    def _raising(self, gate: Gate) -> dict[int, float]:
        """Cause -> P(it, alone, raises the gate), over the branches of OR gates."""
        found: dict[int, float] = {}
        if gate.need != 1:
            return found
        for branch in gate.branches:
            share = self._share(branch)
            if isinstance(branch, Leaf):
                below = {
                    number: share
                    * _strength(branch, self.network.causes[number].position, False, None, whole=False)
                    for number in self._by_fault.get(branch.fault, ())
                }
            else:
                inner = self.library.mechanisms[branch.mechanism] if isinstance(branch, Use) else branch
                below = {n: share * branch.strength * chance for n, chance in self._raising(inner).items()}
            for number, chance in below.items():
                if chance > 0.0:
                    found[number] = 1.0 - (1.0 - found.get(number, 0.0)) * (1.0 - chance)
        return found

    def _acting(self, number: int) -> tuple[str, ...]:
        """Keys of the events "this cause raises a branch", one for each branch that it can raise.

        The link between cause and gate becomes a node of its own, so that findings can hang on it too.
        """
        if number in self._ways:
            return self._ways[number]
        ways = [key for key, cause in self.acting.items() if cause == number]
        for gate in sorted(self.network.blame):
            node = self.nodes[gate]
            if gate in self.acting or all(each.source != number for each in node.inputs):
                continue
            inputs = list(node.inputs)
            for place, each in enumerate(node.inputs):
                if each.source == number:
                    way = f"{self.network.causes[number].id}>{gate}.{place}"
                    self.nodes[way] = Node(way, 1, True, (1.0, 0.0), (each,))
                    self.acting[way] = number
                    ways.append(way)
                    inputs[place] = Input(way, (1.0,))
            self.nodes[gate] = replace(node, inputs=tuple(inputs))
        self._ways[number] = tuple(ways)
        return self._ways[number]


def _names_a_side(gate: Gate) -> bool:
    """True if a leaf below the gate is at this side or the other side of a one-sided complaint."""
    return any(leaf.relative for leaf in leaves(gate))


def _strength(leaf: Leaf, position: str, sided: bool, side: str | None, *, whole: bool) -> float:
    """Strength of a leaf at one position, given the side that the driver named (0: does not count).

    whole: the leaf is one branch of a conjunction, whose direction is settled elsewhere.
    """
    if not all(meets(at, position) for at in leaf.fixed):
        return 0.0
    if not sided:
        return leaf.strength
    on = side_of(position)
    if leaf.relative:
        if side is None or on is None:
            # Not told which side: the fault may be what raises it to either.
            return leaf.strength
        wanted = side if leaf.relative == "this-side" else other_side(side)
        return leaf.strength if on == wanted else 0.0
    # A leaf without a side is as likely to act to either.
    return leaf.strength if side is None or whole else leaf.strength / 2.0


def reaching(network: Network, keys: Sequence[str]) -> frozenset[str]:
    """The nodes `keys` and every node that feeds them, directly or through others."""
    seen: set[str] = set()
    waiting = [key for key in keys if key in network.nodes]
    while waiting:
        key = waiting.pop()
        if key in seen:
            continue
        seen.add(key)
        for each in network.nodes[key].inputs:
            if isinstance(each.source, str):
                waiting.append(each.source)
    return frozenset(seen)
