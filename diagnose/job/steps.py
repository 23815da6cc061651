"""A case file as the first acts of a job."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from diagnose.job import events as e
from diagnose.job.story import answered_event
from diagnose.model.library import Library

if TYPE_CHECKING:
    from diagnose.job.case import Case

__all__ = ["case_name", "entries_of", "steps_of"]

#: A case file does not say when; all its acts stand at one time.
_WHEN = datetime(2000, 1, 1, tzinfo=UTC)


def case_name(case: Case) -> str:
    """What the job of a case file is called."""
    return case.story.vehicle.name or case.id or "a case file"


def entries_of(library: Library, case: Case) -> list[e.Entry]:
    """The journal of the job that a case file opens."""
    opened = e.Entry(1, _WHEN, e.Opened(case_name(case)))
    steps = enumerate(steps_of(library, case), start=2)
    return [opened, *(e.Entry(number, _WHEN, event) for number, step in steps for event in step)]


def steps_of(library: Library, case: Case) -> list[list[e.Event]]:
    """The events of a case file, a list for each step, ready to open a job with."""
    vehicle = case.story.vehicle
    first: list[e.Event] = []
    for heard in case.story.heard:
        told = {"complaint": heard.complaint, "side": heard.side, "answer": heard.answer, "by": heard.by}
        first.append(e.ComplaintHeard.from_dict({"event": "complaint-heard", **told}))
    steps = [first]
    facts: list[e.Event] = [e.VehicleFact(fact, value) for fact, value in vehicle.facts.items()]
    facts += [e.ConditionKnown(name, holds) for name, holds in vehicle.conditions.items()]
    facts += [e.PartRenewed(r.part, r.position, r.at_km, r.years_ago) for r in vehicle.renewed]
    if vehicle.km is not None or vehicle.years is not None:
        facts.append(e.Distance(vehicle.km, vehicle.years))
    if facts:
        steps.append(facts)
    at = 0
    for count in case.steps:
        seen = case.story.seen[at : at + count]
        at += count
        if seen:
            step: list[e.Event] = [e.Turned(seen[0].check)]
            step += [answered_event(library, each) for each in seen]
            steps.append([*step, e.CheckDone(seen[0].check)])
    return [*steps, *map(list, case.rounds)]
