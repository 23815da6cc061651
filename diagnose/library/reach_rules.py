"""Whether everything can be met with: complaints raised, faults found, set-ups reached."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping

from diagnose.errors import Problem
from diagnose.library.build import TALK, Draft, each_gate
from diagnose.model.complaint import Gate, Leaf, Use
from diagnose.model.part import Fits

__all__ = ["REACH"]

#: Fits of a few facts have few combinations; beyond this many a gate is taken to be possible.
_MAX_CARS = 20_000
_MAX_DEPTH = 200


def minutes_are_counted_from_talk(draft: Draft) -> Iterator[Problem]:
    """There is a set-up `talk`, and being there costs nothing; from it every other is reached."""
    library = draft.library
    first = next(iter(library.set_ups.values()), None)
    if TALK not in library.set_ups:
        if library.checks or first is not None:
            place = first.place if first is not None else next(iter(library.checks.values())).place
            wrong = f"no set-up can be reached: there is no set-up {TALK!r} to start from"
            row = "{id: talk, name: talking, enter: 0, leave: 0, source: common-practice}"
            mend = f"add {row} under `set-ups:`"
            yield draft.problem(place, (), wrong, mend)
        return
    talk = library.set_ups[TALK]
    for key, minutes in (("enter", talk.enter), ("leave", talk.leave)):
        if minutes:
            wrong = f"the set-up {TALK!r} is where minutes are counted from, so its {key!r} is 0"
            yield draft.problem(talk.place, (key,), wrong, "write 0")


def faults_can_be_complained_of(draft: Draft) -> Iterator[Problem]:
    """From every fault a way leads to a complaint."""
    from diagnose.library.graph import complaints_raised_by, network

    reached = complaints_raised_by(network(draft.library))
    for fault in draft.library.faults.values():
        if not reached[fault.id]:
            wrong = f"no complaint can come from fault {fault.id!r}"
            mend = "add it as a cause to a complaint, or delete it"
            yield draft.problem(fault.place, ("id",), wrong, mend)


def faults_can_be_found(draft: Draft) -> Iterator[Problem]:
    """To every fault, or to a mechanism that it raises, a finding points."""
    from diagnose.library.graph import findings_showing, network

    shown = findings_showing(network(draft.library))
    for fault in draft.library.faults.values():
        if not shown[fault.id]:
            wrong = f"no finding points to fault {fault.id!r}"
            mend = "add it under `points-to` of a finding, or delete it"
            yield draft.problem(fault.place, ("id",), wrong, mend)


def checks_can_find_something(draft: Draft) -> Iterator[Problem]:
    """Every finding of a check points to something or repeats something."""
    for check in draft.library.checks.values():
        if not check.findings:
            wrong = f"check {check.id!r} has no findings"
            yield draft.problem(check.place, ("findings",), wrong, "add what can be seen, or delete it")
        for name in check.findings:
            finding = draft.library.findings[name]
            if not finding.links and not finding.repeats:
                wrong = f"finding {name!r} points to nothing"
                mend = "name the faults that it points to, or delete it"
                yield draft.problem(finding.place, ("points-to",), wrong, mend)


def gates_can_be_raised(draft: Draft) -> Iterator[Problem]:
    """There is a car whose faults can raise the gate: its parts are fitted together somewhere."""
    for complaint, gate in each_gate(draft.library):
        if not _possible(draft, gate):
            if gate is complaint.top:
                wrong = f"no cause can raise complaint {complaint.id!r}"
            else:
                wrong = f"no cause can raise mechanism {gate.id!r}"
            key = "of" if gate.kind == "at-least" else gate.kind
            mend = "no car has the parts that it takes; look at their `fits`"
            yield draft.problem(gate.place, (key,), wrong, mend)


def _possible(draft: Draft, gate: Gate) -> bool:
    facts = draft.library.facts.values()
    cars = itertools.product(*([value.id for value in fact.values] for fact in facts))
    names = [fact.id for fact in facts]
    for number, car in enumerate(cars):
        if number >= _MAX_CARS or _raised(draft, gate, dict(zip(names, car, strict=True)), {}, 0):
            return True
    return False


def _raised(draft: Draft, gate: Gate, car: Mapping[str, str], known: dict[str, bool], depth: int) -> bool:
    """True if on that car enough branches can be raised.

    known: mechanisms already judged on that car, filled here. There are no circles: other rules
    have seen to that. A chain of uses longer than any real one is taken to be possible.
    """
    if depth > _MAX_DEPTH:
        return True
    count = 0
    for branch in gate.branches:
        if not _fitted(branch.fits, car):
            continue
        if isinstance(branch, Leaf):
            fault = draft.library.faults.get(branch.fault)
            possible = fault is not None and _fitted(fault.fits, car)
        else:
            inner = draft.library.mechanisms.get(branch.mechanism) if isinstance(branch, Use) else branch
            if inner is None:
                continue
            if inner.id not in known or not inner.id:
                known[inner.id] = _raised(draft, inner, car, known, depth + 1)
            possible = known[inner.id]
        count += possible
        if count >= gate.need:
            return True
    return False


def _fitted(fits: Fits, car: Mapping[str, str]) -> bool:
    return all(car.get(fact) in values for fact, values in fits.items())


#: The demands above; each takes a draft and yields problems, and never raises.
REACH: tuple[Callable[[Draft], Iterator[Problem]], ...] = (
    minutes_are_counted_from_talk,
    faults_can_be_complained_of,
    faults_can_be_found,
    checks_can_find_something,
    gates_can_be_raised,
)
