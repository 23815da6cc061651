"""The figures of a library that can be learned, each by a key, and a library with other figures put in.

Learned are base chances, lives, the strength of each link from a fault into a complaint's tree, the leaks of
complaints and mechanisms, and detections and false alarms of findings that are seen or not. Strengths
between gates, grades, links to mechanisms, shapes, mates and lifts stay as they are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from diagnose.model.check import Finding
from diagnose.model.complaint import Gate, Leaf, Use, gates
from diagnose.model.library import Library
from diagnose.model.part import Fault

__all__ = ["ESTIMATE", "SOURCED", "Figure", "Key", "figures_of", "leaf_keys", "leak_of", "with_figures"]

#: Events that a shipped figure is worth as a prior (estimates): a figure marked `estimate` is good to a
#: factor of two, 1 / root(2) in log odds; one with a source to a factor of 1.4.
ESTIMATE, SOURCED = 2.0, 8.0

#: No figure goes nearer to 0 or 1.
LEAST = 1e-5


@dataclass(frozen=True, slots=True, order=True)
class Key:
    """Which figure: its kind, the row that it belongs to, and what in that row.

    row: of a chance or life the fault; of a strength or leak the mechanism or complaint; of a detection or
    false alarm the finding. target: of a strength or detection the fault. number: of a strength its place
    among the leaves of its row.
    """

    kind: str
    row: str
    target: str = ""
    number: int = 0


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure as shipped. value: a probability, or 1 for a life (the factor on its hazard).

    events: what it is worth as a prior, see `ESTIMATE`. complaint: the row of a strength's file.
    """

    key: Key
    value: float
    events: float
    complaint: str = ""


def figures_of(library: Library) -> dict[Key, Figure]:
    """Every figure that can be learned, in the order of the library."""
    found: dict[Key, Figure] = {}

    def add(key: Key, value: float, source: tuple[str, ...], complaint: str = "") -> None:
        worth = SOURCED if source and "estimate" not in source else ESTIMATE
        found.setdefault(key, Figure(key, value, worth, complaint))

    for fault in library.faults.values():
        if fault.life is not None:
            add(Key("life", fault.id), 1.0, fault.source)
        elif fault.chance is not None:
            add(Key("chance", fault.id), fault.chance, fault.source)
    for complaint in library.complaints.values():
        for key, leaf in _leaves(complaint.top, complaint.id):
            add(key, leaf.strength, complaint.source, complaint.id)
        for gate in gates(complaint.top):
            if gate is complaint.top or gate.id:
                add(Key("leak", gate.id or complaint.id), gate.leak, complaint.source, complaint.id)
    for finding in library.findings.values():
        if finding.repeats or len(finding.levels) != 1:
            continue
        source = finding.source or library.checks[finding.check].source
        add(Key("false-alarm", finding.id), finding.false_alarm[0], source)
        for link in finding.links:
            if link.kind == "fault":
                add(Key("detection", finding.id, link.target), link.detection[0], source)
    return {key: each for key, each in found.items() if key.kind == "life" or 0.0 < each.value < 1.0}


def leaf_keys(library: Library) -> dict[int, Key]:
    """id() of each leaf object -> its key; the library must be kept as long as the result."""
    found: dict[int, Key] = {}
    for complaint in library.complaints.values():
        found.update((id(leaf), key) for key, leaf in _leaves(complaint.top, complaint.id))
    # A mechanism may be an object of its own here, equal to that in its complaint.
    for name, gate in library.mechanisms.items():
        found.update((id(leaf), key) for key, leaf in _leaves(gate, name))
    return found


def leak_of(library: Library, gate: str) -> float:
    """The leak of a complaint or mechanism."""
    complaint = library.complaints.get(gate)
    return complaint.top.leak if complaint is not None else library.mechanisms[gate].leak


def _leaves(gate: Gate, owner: str) -> Iterator[tuple[Key, Leaf]]:
    """The leaves below a gate with their keys; one below a mechanism is that mechanism's."""
    counts: dict[str, int] = {}

    def below(here: Gate, owner: str) -> Iterator[tuple[Key, Leaf]]:
        for branch in here.branches:
            if isinstance(branch, Leaf):
                number = counts.get(owner, 0)
                counts[owner] = number + 1
                yield Key("strength", owner, branch.fault, number), branch
            elif isinstance(branch, Gate):
                yield from below(branch, branch.id or owner)

    yield from below(gate, owner)


def with_figures(library: Library, values: Mapping[Key, float]) -> Library:
    """The library with these figures in place of its own; a life's is the factor on its hazard."""
    if not values:
        return library
    keys = leaf_keys(library)

    def held(p: float) -> float:
        return min(max(p, LEAST), 1.0 - LEAST)

    def fault(each: Fault) -> Fault:
        if each.life is None:
            chance = values.get(Key("chance", each.id))
            return each if chance is None else replace(each, chance=held(chance))
        factor = values.get(Key("life", each.id))
        if factor is None:
            return each
        # The hazard goes with (distance / life) ** shape.
        return replace(each, life=each.life.stretched(factor ** (-1.0 / each.life.shape)))

    def branch(each: Leaf | Use | Gate) -> Leaf | Use | Gate:
        if isinstance(each, Gate):
            return gate(each)
        strength = values.get(keys[id(each)]) if isinstance(each, Leaf) else None
        return each if strength is None else replace(each, strength=held(strength))

    def gate(each: Gate, name: str = "") -> Gate:
        leak = values.get(Key("leak", each.id or name))
        branches = tuple(branch(below) for below in each.branches)
        return replace(each, branches=branches, leak=each.leak if leak is None else held(leak))

    def finding(each: Finding) -> Finding:
        alarm = values.get(Key("false-alarm", each.id))
        links = tuple(
            each_link
            if (value := values.get(Key("detection", each.id, each_link.target))) is None
            or each_link.kind != "fault"
            else replace(each_link, detection=(held(value),))
            for each_link in each.links
        )
        return replace(each, links=links, false_alarm=each.false_alarm if alarm is None else (held(alarm),))

    return replace(
        library,
        faults={key: fault(each) for key, each in library.faults.items()},
        complaints={key: replace(each, top=gate(each.top, key)) for key, each in library.complaints.items()},
        mechanisms={key: gate(each) for key, each in library.mechanisms.items()},
        findings={key: finding(each) for key, each in library.findings.items()},
    )
