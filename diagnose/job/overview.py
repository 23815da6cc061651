"""What each job of a store came to, at a glance: no belief is made, and most events are not even decoded."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from itertools import groupby

from diagnose.errors import JournalError
from diagnose.job import events as e
from diagnose.job.events import Event
from diagnose.job.journal import BareEvent, Journal, parse_time
from diagnose.job.repairs import meant_for, obligations
from diagnose.job.session import spent_minutes
from diagnose.job.state import JobState, RoundState, gathered
from diagnose.model.library import Library

__all__ = ["Fitted", "Overview", "overviews"]

#: Last words by which a complaint is gone.
GONE = frozenset({"no", "probably-not"})


@dataclass(frozen=True, slots=True)
class Fitted:
    """One repair: remedy@place, the faults (`fault@position`) that it ends, those of them that it is meant
    for, how many visits came before it.

    gone: True if every complaint was gone at its visit's last word, False if one was not, None if not told.
    """

    work: str
    ends: tuple[str, ...]
    meant: tuple[str, ...]
    visit: int
    gone: bool | None
    price: float | None
    hours: float | None


@dataclass(frozen=True)
class Overview:
    """One job. opened, last: UTC. closed: its outcome, None while it is open. complaints: ids, as told.

    words: what a search for the car looks at: name, layout, the driver's words. concluded: remedies settled
    on. minutes: of checks done. spent: money told for parts and hours, None if none was. owed: work that
    repairs oblige to and that is not done (ids). unreadable: why the job cannot be read; then all else that
    is not in the lists of jobs is empty.
    """

    id: str
    name: str
    opened: datetime | None
    last: datetime | None
    events: int
    closed: str | None = None
    complaints: tuple[str, ...] = ()
    words: str = ""
    concluded: tuple[str, ...] = ()
    repairs: tuple[Fitted, ...] = ()
    minutes: float = 0.0
    spent: float | None = None
    currency: str = ""
    owed: tuple[str, ...] = ()
    unreadable: str = ""

    @property
    def cured(self) -> bool:
        """True if the last word about every complaint after the last visit is that it has gone."""
        return bool(self.repairs) and self.repairs[-1].gone is True

    @property
    def at_once(self) -> bool:
        """True if the first visit cured it, and nothing said otherwise since."""
        return self.cured and self.repairs[-1].visit == 0

    @property
    def causes(self) -> tuple[str, ...]:
        """The faults (ids) that the visit which cured it was meant to end: each may have been the cause."""
        if not self.cured:
            return ()
        last = self.repairs[-1].visit
        ends = (end.partition("@")[0] for each in self.repairs if each.visit == last for end in each.meant)
        return tuple(dict.fromkeys(ends))


def overviews(library: Library, journal: Journal) -> list[Overview]:
    """Every job of the store, the oldest first. Raises JournalError if the store itself cannot be read."""
    return [_overview(library, job, name, events) for job, name, events in journal.bare()]


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
