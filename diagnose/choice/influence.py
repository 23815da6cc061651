"""What an answer can change: how far each question and finding of a library can move a ranking.

A question that moves nothing wastes the driver's patience, and a finding that moves nothing the
technician's time: they are to be cut. The measure is taken on a car of which nothing is known but its
complaint, which is where questions are put.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from diagnose.belief.belief import Belief, Car, places
from diagnose.belief.evidence import merge, observe
from diagnose.belief.network import finding_key
from diagnose.model.library import Library
from diagnose.model.story import Heard, Seen, Story
from diagnose.model.vehicle import Vehicle

__all__ = [
    "MATERIAL",
    "Idle",
    "Influence",
    "Weighed",
    "bare",
    "influence",
    "influences",
    "weigh",
    "weigh_all",
]

#: Detection from which a finding points plainly to a fault.
PLAIN = 0.4

#: An answer that moves less than this between suspects (5 cars of 100) changes nothing that matters.
MATERIAL = 0.05


@dataclass(frozen=True, slots=True)
class Influence:
    """How far the answers to a finding can move the ranking of a complaint.

    points: half the sum of what all suspects gain and lose in likelihood by its most telling answer,
    the part that changes hands (0..1 for one culprit; a blow that may have bent ten parts counts for
    all of them). cause: the id of the suspect that moves most; "" if none moves.
    """

    finding: str
    complaint: str
    points: float
    cause: str


def bare(library: Library, complaint: str, facts: Mapping[str, str] | None = None) -> Belief:
    """The belief about a car of which nothing is known but this complaint, and these facts if any."""
    car = Car(library, Vehicle(facts=facts or {}), {complaint: None})
    return Belief(car, Story(car.vehicle, (Heard(complaint),), ()))


def influence(belief: Belief, finding: str) -> Influence:
    """How far an answer to this finding, at any of its places, can move the ranking of the belief."""
    library = belief.car.library
    row = library.findings[finding]
    columns = []
    for place in places(library, finding):
        none = row.none if len(row.levels) > 1 else "no"
        for answer in row.levels if row.always else (none, *row.levels):
            seen = observe(library, belief.car.network, (), [Seen(finding, place, answer)])
            if seen:
                columns.append(merge([*belief.observations, *seen]))
    suspects = sorted(belief.car.suspects())
    complaint = next(iter(belief.car.complaints))
    if not columns or not suspects:
        return Influence(finding, complaint, 0.0, "")
    answers = belief.car.engine.ask(columns)
    after = np.nan_to_num(np.stack([answers.to_blame[:, n] for n in suspects], axis=1))
    change = np.abs(after - belief.to_blame[suspects])
    telling = int(change.sum(axis=1).argmax())
    most = int(change[telling].argmax())
    points = float(change[telling].sum()) / 2.0
    return Influence(finding, complaint, points, belief.causes[suspects[most]].id if points else "")


@dataclass(frozen=True, slots=True)
class Weighed:
    """A complaint by itself: its suspects, each with its likelihood to be to blame, the most likely
    first; P(something not listed); and its questions, each with the most that it moves.
    """

    complaint: str
    suspects: tuple[tuple[str, float], ...]
    outside: float
    questions: tuple[tuple[str, Influence], ...]


def weigh(library: Library, complaint: str, facts: Mapping[str, str] | None = None) -> Weighed:
    """What the complaint says of a car of which nothing else is known, or only these facts."""
    belief = bare(library, complaint, facts)
    asked = []
    for check in library.complaints[complaint].questions:
        found = [influence(belief, name) for name in library.checks[check].findings]
        asked.append((check, max(found, key=lambda each: each.points)))
    suspects = tuple((belief.causes[n].id, float(belief.to_blame[n])) for n in belief.order())
    return Weighed(complaint, suspects, belief.outside, tuple(asked))


@dataclass(frozen=True, slots=True)
class Idle:
    """What moves nothing that matters: questions (complaint, check, influence), and findings."""

    questions: tuple[tuple[str, str, Influence], ...]
    findings: tuple[Influence, ...]


def weigh_all(library: Library) -> Idle:
    """The questions and findings of the whole library that are to be cut, or to be given telling figures."""
    asked = [
        (complaint, check, found)
        for complaint in library.complaints
        for check, found in weigh(library, complaint).questions
        if found.points < MATERIAL
    ]
    return Idle(tuple(asked), tuple(each for each in influences(library) if each.points < MATERIAL))


def influences(library: Library, enough: float = MATERIAL) -> Iterator[Influence]:
    """For every finding with links the complaint in which it moves most, found as soon as it is `enough`.

    Where it stays below that on a car of which nothing is known, a car is tried that has the part which
    it points to first. One that stays below in every complaint is given with the most that it reaches.
    """
    best: dict[str, Influence] = {}
    waiting = {name for name, finding in library.findings.items() if finding.links}

    def weigh(belief: Belief, names: Collection[str]) -> None:
        for name in _concerned(belief, names):
            found = influence(belief, name)
            if name not in best or found.points > best[name].points:
                best[name] = found
            if found.points >= enough:
                waiting.discard(name)

    for complaint in library.complaints:
        weigh(bare(library, complaint), waiting)
    for complaint in library.complaints:
        fitted: dict[tuple[tuple[str, str], ...], list[str]] = {}
        for name in sorted(waiting):
            for facts in _fitting(library, name):
                fitted.setdefault(tuple(sorted(facts.items())), []).append(name)
        for key, names in fitted.items():
            weigh(bare(library, complaint, dict(key)), waiting & set(names))
    for name, finding in library.findings.items():
        if finding.links:
            yield best.get(name, Influence(name, "", 0.0, ""))


def _fitting(library: Library, finding: str) -> list[dict[str, str]]:
    """For each fault that a finding points to plainly: facts of a car that has the part and the check."""
    row = library.findings[finding]
    found: list[dict[str, str]] = []
    for link in row.links:
        if link.kind != "fault" or sum(link.detection) < PLAIN:
            continue
        fault = library.faults[link.target]
        allowed: dict[str, list[str]] = {}
        for fits in (library.parts[fault.part].fits, fault.fits, library.checks[row.check].fits):
            for fact, values in fits.items():
                allowed[fact] = [v for v in allowed.get(fact, values) if v in values]
        if allowed and all(allowed.values()):
            facts = {fact: values[0] for fact, values in allowed.items()}
            if facts not in found:
                found.append(facts)
    return found


def _concerned(belief: Belief, names: Collection[str]) -> list[str]:
    """Those of the findings that point to a suspect of the belief, in the order of the library."""
    library, nodes = belief.car.library, belief.car.network.nodes
    suspects = belief.car.suspects()
    found = []
    for name in library.findings:
        if name in names:
            keys = [finding_key(name, place) for place in places(library, name)]
            inputs = [i.source for key in keys if key in nodes for i in nodes[key].inputs]
            if any(isinstance(source, str) or source in suspects for source in inputs):
                found.append(name)
    return found
