"""What each job of a store came to, at a glance: no belief is made, and most events are not even decoded."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Sequence
from datetime import datetime
from functools import lru_cache
from itertools import groupby

from diagnose.errors import JournalError
from diagnose.job import events as e
from diagnose.job.events import Event
from diagnose.job.glance import Fitted, Overview
from diagnose.job.journal import BareEvent, Journal, parse_time
from diagnose.job.repairs import meant_for, obligations
from diagnose.job.session import spent_minutes
from diagnose.job.state import JobState, RoundState, gathered
from diagnose.model.library import Library

__all__ = ["overviews"]

#: Last words by which a complaint is gone.
GONE = frozenset({"no", "probably-not"})


def overviews(library: Library, journal: Journal, only: Collection[int] | None = None) -> list[Overview]:
    """Every job of the store, the oldest first; `only`: those of these numbers.

    Raises JournalError if the store itself cannot be read.
    """
    return [_overview(library, job, name, events) for job, name, events in journal.bare(only)]


def _overview(library: Library, job: str, name: str, events: Sequence[BareEvent]) -> Overview:
    opened, last = (_time(events[0].time), _time(events[-1].time)) if events else (None, None)
    try:
        state = _state(events)
    except (JournalError, ValueError, AttributeError) as error:
        why = str(error).splitlines()[0] if str(error) else "its events cannot be read"
        return Overview(job, name, opened, last, len(events), unreadable=why)
    words = [name, *state.vehicle.facts.values(), *(each.words for each in state.complaints)]
    layouts = [
        value.name
        for fact in library.facts.values()
        for value in fact.values
        if state.vehicle.facts.get(fact.id) == value.id
    ]
    repairs = tuple(_fitted(library, state))
    told = [each for each in repairs if each.price is not None or each.hours is not None]
    rate = state.opened.workshop.get("labour-rate", 100.0)
    rate = float(rate) if isinstance(rate, int | float) else 100.0
    spent = sum((each.price or 0.0) + rate * (each.hours or 0.0) for each in told) if told else None
    return Overview(
        job,
        name,
        opened,
        last,
        len(events),
        state.closed,
        tuple(each.complaint for each in state.complaints),
        " ".join([*words, *layouts]).lower(),
        state.concluded or (),
        repairs,
        spent_minutes(library, state),
        spent,
        str(state.opened.workshop.get("currency", "cu")),
        tuple(each.id for each in obligations(library, state)),
    )


def _time(text: str) -> datetime | None:
    try:
        return parse_time(text)
    except ValueError:
        return None


def _state(events: Sequence[BareEvent]) -> JobState:
    """The state of a job from its bare events. Raises JournalError or ValueError with the event's number."""
    kept: list[list[BareEvent]] = []
    for _, group in groupby(events, key=lambda each: each.step):
        step = list(group)
        if step[0].kind == "undone":
            undone = _decoded(step[0])
            assert isinstance(undone, e.Undone)
            del kept[max(1, len(kept) - undone.steps) :]
        else:
            kept.append(step)
    standing = [each for step in kept for each in step]
    if not standing or standing[0].kind != "opened":
        raise JournalError("it does not begin with its opening")
    if [each.number for each in events] != list(range(1, len(events) + 1)):
        raise JournalError("an event is missing")
    opened = _decoded(standing[0])
    assert isinstance(opened, e.Opened)
    return gathered(opened, (_decoded(each) for each in standing[1:] if each.body is not None))


def _decoded(each: BareEvent) -> Event:
    try:
        return _event(each.kind, each.body or "")
    except (JournalError, ValueError, RecursionError) as error:
        raise JournalError(f"event {each.number} cannot be read") from error


@lru_cache(maxsize=4096)
def _event(kind: str, body: str) -> Event:
    """The event of this text: a shop does the same checks on many cars, and events do not change."""
    fields = json.loads(body)
    if not isinstance(fields, dict):
        raise ValueError("no fields")
    return Event.from_dict({"event": kind, **fields})


def _fitted(library: Library, state: JobState) -> Iterator[Fitted]:
    """The repairs, each with what the last drive of its visit, or of the times after it, says."""
    visits: list[tuple[RoundState, bool | None]] = []
    for one in state.rounds:
        said = _gone(one, [each.complaint for each in state.complaints])
        if one.repairs:
            visits.append((one, said))
        elif visits and said is not None:
            # The same car some time after the visit: the later word counts.
            visits[-1] = (visits[-1][0], said)
    for number, (one, gone) in enumerate(visits):
        for repair in one.repairs:
            yield Fitted(
                f"{repair.remedy}@{repair.place}",
                repair.ends,
                meant_for(library, repair),
                number,
                gone,
                repair.price,
                repair.hours,
            )


def _gone(one: RoundState, complaints: Sequence[str]) -> bool | None:
    """True if each complaint was felt and gone, False if one was there, None if nobody can tell."""
    words = {each.complaint: each.road_test or each.driver for each in one.complaints}
    told = [words.get(each) for each in complaints]
    if any(word not in GONE and word not in (None, "cannot-tell") for word in told):
        return False
    return True if told and all(word in GONE for word in told) else None
