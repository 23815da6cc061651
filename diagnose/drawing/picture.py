"""A fault tree as boxes to be drawn, with what a car's answers make of them where some are given."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from diagnose.errors import Place as Location
from diagnose.model.complaint import Complaint, Gate, Leaf, Use, gates
from diagnose.model.library import Library

__all__ = ["NOT_LISTED", "Box", "Marks", "Place", "leaf_key", "mark_words", "picture", "walk"]

#: The leak of a gate, in words.
NOT_LISTED = "something not listed here"

#: A row of a tree, by its text and by where it stands.
LeafKey = tuple[str, float, str, str, Location]


@dataclass(frozen=True, slots=True)
class Place:
    """A fault at one place of a car: P(it is to blame), P(it is there), in [0, 1].

    name: the position in words, "" where the part has one place. cured: it was put right. cause: its id, of
    a car's own belief.
    """

    name: str
    blame: float
    there: float
    cured: bool = False
    cause: str = ""


@dataclass(frozen=True, slots=True)
class Marks:
    """What is believed of one car, to be laid over the tree.

    gates: key of a gate -> P(it is on). leaves: row of the tree -> its places on this car, none if the car
    does not have the part. outside: P(something not listed is behind it). car: whose it is, in words.
    """

    car: str
    gates: Mapping[str, float]
    leaves: Mapping[LeafKey, tuple[Place, ...]]
    outside: float


@dataclass(frozen=True, slots=True)
class Box:
    """One event of a drawn tree.

    kind: `complaint`, `mechanism`, `gate` (one without a name), `fault`, `leak`, or `unknown` (what a draft
    refers to without its being there). key: of a gate its id, or where it stands; of others "".
    gate: `any`, `all` or `at-least` (`need` of the branches), "" for what has none. name: in words.
    only: the layouts to which the branch is narrowed. strength: towards the gate above, 1 for a sure one.
    shared: names of other complaints whose trees use the mechanism. on: P(it is on), None if not told.
    places: of a fault; None if not told, empty if the car does not have it.
    """

    kind: str
    name: str
    strength: float = 1.0
    key: str = ""
    gate: str = ""
    need: int = 0
    only: str = ""
    shared: tuple[str, ...] = ()
    on: float | None = None
    places: tuple[Place, ...] | None = None
    branches: tuple[Box, ...] = field(default=())

    @property
    def weight(self) -> float | None:
        """How much comes this way, in [0, 1]: the chance of the gate, or of the fault's likeliest place."""
        if self.places is not None:
            return max((place.blame for place in self.places), default=0.0)
        return self.on

    @property
    def gate_words(self) -> str:
        """`ANY OF`, `ALL OF`, `AT LEAST 2 OF 3`; "" without a gate."""
        if self.gate == "at-least":
            return f"AT LEAST {self.need} OF {sum(1 for each in self.branches if each.kind != 'leak')}"
        return {"all": "ALL OF", "any": "ANY OF"}.get(self.gate, "")


def leaf_key(leaf: Leaf) -> LeafKey:
    """The key of a row of a tree."""
    return leaf.fault, leaf.strength, leaf.at, repr(sorted(leaf.fits.items())), leaf.place


def picture(library: Library, complaint: str, marks: Marks | None = None) -> Box:
    """The tree of a complaint from the top down; a mechanism used from elsewhere stands in full each time.

    Raises KeyError for an unknown complaint.
    """
    row = library.complaints[complaint]
    return _Painter(library, row, marks).top()


def walk(box: Box) -> Iterator[Box]:
    """The box and every box below it, the top first."""
    yield box
    for branch in box.branches:
        yield from walk(branch)


def mark_words(box: Box) -> list[str]:
    """What is believed of a box, as lines of their own; none where nothing is told.

    A fault's line says how many of 100 such cars have it to blame at which place, and how many have it there.
    """
    from diagnose.words import of_100

    if box.kind == "fault" and box.places is not None:
        if not box.places:
            return ["not on this car"]
        lines = []
        faint = 0
        for place in box.places:
            at = f" {place.name}" if place.name else ""
            if place.blame < 0.005 and len(box.places) > 1 and not place.cured:
                faint += 1
                continue
            done = ", put right" if place.cured else ""
            lines.append(f"to blame {of_100(place.blame)}, there {of_100(place.there)}{at}{done}")
        if faint:
            where = "" if not lines else " elsewhere"
            lines.append(f"to blame <1{where}" if lines else "to blame <1 at every place")
        return lines
    if box.on is None:
        return []
    return [f"{'to blame' if box.kind == 'leak' else 'there'} {of_100(box.on)}"]


class _Painter:
    def __init__(self, library: Library, complaint: Complaint, marks: Marks | None) -> None:
        self.library = library
        self.complaint = complaint
        self.marks = marks
        self.using = _using(library)

    def top(self) -> Box:
        gate = self.complaint.top
        return Box(
            "complaint",
            self.complaint.name,
            key=self.complaint.id,
            gate=gate.kind,
            need=gate.need,
            on=self._on(self.complaint.id),
            branches=self._branches(gate, self.complaint.id, frozenset()),
        )

    def _on(self, key: str) -> float | None:
        return None if self.marks is None else self.marks.gates.get(key)

    def _branches(self, gate: Gate, key: str, above: frozenset[str]) -> tuple[Box, ...]:
        found = [
            self._branch(branch, f"{key}.{number}", above) for number, branch in enumerate(gate.branches)
        ]
        if gate.leak:
            outside = self.marks.outside if self.marks is not None and key == self.complaint.id else None
            found.append(Box("leak", NOT_LISTED, gate.leak, on=outside))
        return tuple(found)

    def _branch(self, branch: Leaf | Use | Gate, key: str, above: frozenset[str]) -> Box:
        if isinstance(branch, Leaf):
            return self._leaf(branch)
        inner = self.library.mechanisms.get(branch.mechanism) if isinstance(branch, Use) else branch
        if inner is None or (inner.id and inner.id in above):
            return Box("unknown", branch.mechanism if isinstance(branch, Use) else "", branch.strength)
        others = self.using.get(inner.id, {}) if inner.id else {}
        return Box(
            "mechanism" if inner.name else "gate",
            inner.name,
            branch.strength,
            inner.id or key,
            inner.kind,
            inner.need,
            only_on(self.library, branch),
            tuple(name for id_, name in others.items() if id_ != self.complaint.id),
            self._on(inner.id or key),
            branches=self._branches(inner, inner.id or key, above | {inner.id}),
        )

    def _leaf(self, leaf: Leaf) -> Box:
        fault = self.library.faults.get(leaf.fault)
        if fault is None:
            return Box("unknown", leaf.fault, leaf.strength)
        part = self.library.parts[fault.part]
        at = (leaf.at or fault.where).replace("-", " ")
        places = None if self.marks is None else self.marks.leaves.get(leaf_key(leaf), ())
        return Box(
            "fault",
            f"{part.name}: {fault.name}, {at}",
            leaf.strength,
            only=only_on(self.library, leaf),
            places=places,
        )


def _using(library: Library) -> dict[str, dict[str, str]]:
    """Mechanism -> id and name of every complaint whose tree has it, over however many uses."""
    found: dict[str, dict[str, str]] = {}
    for complaint in library.complaints.values():
        seen: set[str] = set()
        waiting = [complaint.top]
        while waiting:
            for gate in gates(waiting.pop()):
                if gate.id in seen:
                    continue
                if gate.id:
                    seen.add(gate.id)
                for branch in gate.branches:
                    used = library.mechanisms.get(branch.mechanism) if isinstance(branch, Use) else None
                    if used is not None and used.id not in seen:
                        waiting.append(used)
        for mechanism in seen:
            found.setdefault(mechanism, {})[complaint.id] = complaint.name
    return found


def only_on(library: Library, branch: Leaf | Use | Gate) -> str:
    """The layouts to which a branch is narrowed, such as `drive: rear or all four`; "" for all."""
    told = []
    for fact, values in branch.fits.items():
        names = (
            {value.id: value.name for value in library.facts[fact].values} if fact in library.facts else {}
        )
        told.append(f"{fact}: {' or '.join(names.get(value, value) for value in values)}")
    return "; ".join(told)
