"""What the driver notices: the top event of one fault tree, and the gates below it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from diagnose.errors import NOWHERE, Place
from diagnose.model.part import Fits

__all__ = ["FELT", "HEARD", "RELATIVE", "Complaint", "Gate", "Leaf", "Use", "gates", "layouts", "leaves"]


#: Reliability of a driver's word and of a technician's road test, where a complaint gives none (estimate).
HEARD = (0.95, 0.05)
FELT = (0.95, 0.03)

#: Sides as the driver of a one-sided complaint means them.
RELATIVE = ("this-side", "other-side")


@dataclass(frozen=True, slots=True)
class Leaf:
    """A fault under a gate.

    strength in (0, 1): P(this fault, present and alone, raises its gate) - the pure link, without
    the leak. `at` narrows the positions: "" for all, else words joined by spaces, all of which must
    hold: `this-side` or `other-side` of a one-sided complaint, or a position (`front this-side`).
    `fits` of this and of every other branch: the layouts on which it leads to the gate at all.
    """

    fault: str
    strength: float
    at: str = ""
    fits: Fits = field(default_factory=dict)
    place: Place = field(default=NOWHERE, compare=False, repr=False)

    @property
    def relative(self) -> str:
        """`this-side` or `other-side` if the leaf is at one of them, else ""."""
        return next((word for word in self.at.split() if word in RELATIVE), "")

    @property
    def fixed(self) -> tuple[str, ...]:
        """The positions that `at` names outright."""
        return tuple(word for word in self.at.split() if word not in RELATIVE)


@dataclass(frozen=True, slots=True)
class Use:
    """A mechanism defined elsewhere in the library, used as a branch here."""

    mechanism: str
    strength: float = 1.0
    fits: Fits = field(default_factory=dict)
    place: Place = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Gate:
    """At least `need` of the branches: 1 is OR, all of them is AND, anything between is a vote.

    A gate with an `id` is a mechanism: it has a plain name and findings may point to it.
    leak in [0, 1): P(raised by something not listed under it).
    strength in (0, 1]: P(it raises the gate above it, once raised).
    """

    kind: str  # "any", "all" or "at-least"
    need: int
    branches: tuple[Leaf | Use | Gate, ...]
    id: str = ""
    name: str = ""
    leak: float = 0.0
    strength: float = 1.0
    fits: Fits = field(default_factory=dict)
    source: tuple[str, ...] = ()
    place: Place = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Complaint:
    """A complaint in the driver's words with its fault tree.

    `top` is an unnamed gate whose leak is the chance of a cause outside the tree.
    area: id of the area of the car's behaviour under which it is listed, or "".
    sided: the complaint is to one side; its leaves may then be at `this-side` or `other-side`.
    heard = (P(driver reports it | it is there), P(reports it | it is not)); felt: the same for a
    technician's road test. What few cars have is named in error less often than what many have.
    """

    id: str
    name: str
    top: Gate
    about: str = ""
    area: str = ""
    says: tuple[str, ...] = ()
    sided: bool = False
    questions: tuple[str, ...] = ()
    heard: tuple[float, float] = HEARD
    felt: tuple[float, float] = FELT
    source: tuple[str, ...] = ()
    place: Place = field(default=NOWHERE, compare=False, repr=False)


def gates(gate: Gate) -> Iterator[Gate]:
    """The gate and every gate written below it, top first; uses are not followed."""
    yield gate
    for branch in gate.branches:
        if isinstance(branch, Gate):
            yield from gates(branch)


def leaves(gate: Gate) -> Iterator[Leaf]:
    """Every leaf written below the gate; uses are not followed."""
    for branch in gate.branches:
        if isinstance(branch, Leaf):
            yield branch
        elif isinstance(branch, Gate):
            yield from leaves(branch)


def layouts(
    gate: Gate, mechanisms: Mapping[str, Gate], above: frozenset[str] = frozenset()
) -> Iterator[tuple[str, frozenset[str]]]:
    """(fault, facts) for every way from a fault up to the gate: the facts that `fits` on the way name.

    mechanisms: id -> gate, for the uses; one that is not there is passed over.
    """
    for branch in gate.branches:
        facts = above | branch.fits.keys()
        if isinstance(branch, Leaf):
            yield branch.fault, facts
        else:
            inner = mechanisms.get(branch.mechanism) if isinstance(branch, Use) else branch
            if inner is not None:
                yield from layouts(inner, mechanisms, facts)
