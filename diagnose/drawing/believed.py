"""What a belief makes of every event of a complaint's tree, to be laid over its drawing."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.belief.belief import Belief
from diagnose.drawing.picture import LeafKey, Marks, Place, leaf_key
from diagnose.model.complaint import Gate, Leaf, Use
from diagnose.model.library import Library
from diagnose.model.position import told_place

__all__ = ["marks_of"]


def marks_of(belief: Belief, complaint: str, car: str) -> Marks:
    """The marks for the tree of a complaint that the car of the belief has; `car` in words.

    After repairs the figures of faults and complaint are of the car as it stands now. Those of gates would be
    of the car as it was brought, so they are left out. Raises KeyError for another complaint.
    """
    library = belief.car.library
    top = library.complaints[complaint].top
    nodes = belief.car.network.nodes
    keys = [] if belief.car.cured else [key for key in _gates(library, top, complaint) if key in nodes]
    answer = belief.car.engine.ask([belief.weights], keys, belief.lean)
    gates = {key: answer.node(key) for key in keys}
    # Where the last that could raise it was put right, it is never there.
    gates[complaint] = belief.complaint(complaint) if complaint in belief.car.tops else 0.0
    return Marks(car, gates, _leaves(belief), belief.outside)


def _gates(library: Library, top: Gate, complaint: str) -> Iterator[str]:
    """Keys of the gates below a complaint, as the network has them; each once."""
    seen: set[str] = set()
    waiting = [(top, complaint)]
    while waiting:
        gate, key = waiting.pop()
        for number, branch in enumerate(gate.branches):
            if isinstance(branch, Leaf):
                continue
            inner = library.mechanisms.get(branch.mechanism) if isinstance(branch, Use) else branch
            if inner is None:
                continue
            below = inner.id or f"{key}.{number}"
            if below not in seen:
                seen.add(below)
                yield below
                waiting.append((inner, below))


def _leaves(belief: Belief) -> dict[LeafKey, tuple[Place, ...]]:
    """Row of a tree -> the places on this car from which it leads upwards."""
    found: dict[LeafKey, set[int]] = {}
    many = len(belief.causes)
    for node in belief.car.network.nodes.values():
        for each in node.inputs:
            if each.leaf is not None and isinstance(each.source, int) and each.source < many:
                found.setdefault(leaf_key(each.leaf), set()).add(each.source)
    now = belief.now

    def place(number: int) -> Place:
        cause = belief.causes[number]
        name = told_place(belief.car.library.faults[cause.fault].where, cause.position)
        blame, there = float(belief.to_blame[number]), float(now[number])
        return Place(name, blame, there, number in belief.car.cured, cause.id)

    marks: dict[LeafKey, tuple[Place, ...]] = {}
    for leaf, places in found.items():
        marks[leaf] = tuple(place(number) for number in sorted(places))
    return marks
