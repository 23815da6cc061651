"""A library of trees as one whole, and the small vocabularies that its rows share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnose.errors import NOWHERE, Place
from diagnose.model.check import Changes, Check, Finding, SetUp
from diagnose.model.complaint import Complaint, Gate
from diagnose.model.part import Fault, Part

__all__ = ["Access", "Condition", "Fact", "FactValue", "FollowUp", "Library", "Remedy", "Source"]


@dataclass(frozen=True, slots=True)
class FactValue:
    """One answer to a fact; `share` in (0, 1] is its share of cars, used while it is unknown."""

    id: str
    name: str
    share: float


@dataclass(frozen=True, slots=True)
class Fact:
    """Something about the car that decides which parts it has, such as the front suspension."""

    id: str
    ask: str
    values: tuple[FactValue, ...]
    source: tuple[str, ...] = ()
    place: Place = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Condition:
    """Something known about the car's life that multiplies the odds of some faults."""

    id: str
    ask: str
    name: str
    source: tuple[str, ...] = ()
    place: Place = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class FollowUp:
    """Work that must follow a remedy, once per visit: minutes of labour and money for material.

    covers: other such work that is done when this is. mends: remedies whose faults it puts right in passing,
    as an alignment sets a toe that was wrong.
    """

    id: str
    name: str
    minutes: float
    parts: float
    source: tuple[str, ...] = ()
    covers: tuple[str, ...] = ()
    mends: tuple[str, ...] = ()
    place: Place = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Access:
    """A state of taking apart that several remedies need, such as a front strut out.

    per: "each" (once at each corner) or "car" (once a car). hours of labour to get there and back together,
    beyond what the access `within` which it lies already takes ("": none).
    """

    id: str
    name: str
    per: str
    hours: float
    within: str = ""
    source: tuple[str, ...] = ()
    place: Place = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Remedy:
    """What cures a fault.

    per: "each" (one position), "pair" (both sides of the axle at once) or "car".
    hours of labour and money for parts, both for that unit; money in the neutral unit in which
    one hour of independent labour costs about 100. The hours are those of the whole job alone: they hold
    the access that it needs (`model.work` tells what it shares with others).
    covers: other remedies whose faults it puts right at its place too, since the new part brings theirs.
    """

    id: str
    name: str
    per: str
    hours: float
    parts: float
    follow_ups: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    watch: str = ""
    source: tuple[str, ...] = ()
    access: tuple[str, ...] = ()
    covers: tuple[str, ...] = ()
    place: Place = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Source:
    """Where figures come from: a document with its address, or a kind of knowledge."""

    id: str
    name: str
    url: str = ""
    note: str = ""
    place: Place = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Library:
    """All trees and tables, each a mapping from id to row, in the order in which they are written.

    cautions, tools, areas: id -> its text or name. An area is a part of the car's behaviour (how it
    steers, how it rides) under which complaints are listed.
    """

    parts: Mapping[str, Part]
    faults: Mapping[str, Fault]
    checks: Mapping[str, Check]
    findings: Mapping[str, Finding]  # id: "check-id/finding-id"
    remedies: Mapping[str, Remedy]
    set_ups: Mapping[str, SetUp]
    changes: Changes
    complaints: Mapping[str, Complaint]
    mechanisms: Mapping[str, Gate]
    facts: Mapping[str, Fact]
    conditions: Mapping[str, Condition]
    follow_ups: Mapping[str, FollowUp]
    sources: Mapping[str, Source]
    cautions: Mapping[str, str]
    tools: Mapping[str, str]
    areas: Mapping[str, str] = field(default_factory=dict)
    access: Mapping[str, Access] = field(default_factory=dict)
    digest: str = ""

    def by_area(self) -> dict[str, list[Complaint]]:
        """The complaints under the id of their area, areas as written; those without one last, under "".

        An area without a complaint is left out.
        """
        areas: dict[str, list[Complaint]] = {area: [] for area in (*self.areas, "")}
        for complaint in self.complaints.values():
            areas.setdefault(complaint.area, []).append(complaint)
        return {area: complaints for area, complaints in areas.items() if complaints}
