"""What a job has come to: a fold over its events. Nothing here knows the trees or computes a belief."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import TypeVar

from diagnose.errors import JournalError
from diagnose.job import events as e
from diagnose.job.events import Answered, Entry, Event, Opened
from diagnose.model.story import FADED
from diagnose.model.vehicle import Renewed, Vehicle

__all__ = ["Heard", "JobState", "RoundState", "fold", "gathered", "live", "order_faults"]

_V = TypeVar("_V")


@dataclass(frozen=True, slots=True)
class Heard:
    """One complaint with the latest word of each who spoke to it; None: has not spoken.

    side ("left", "right") and words are the latest given, by either; None and "" if never given.
    """

    complaint: str
    side: str | None = None
    words: str = ""
    driver: str | None = None
    road_test: str | None = None


@dataclass(frozen=True, slots=True)
class RoundState:
    """One visit: what was repaired, then the complaints as they were on the drives since, and the answers.

    later: no visit, but the same car so many days and km after the last one (None: not told).
    """

    repairs: tuple[e.Repaired, ...]
    complaints: tuple[Heard, ...] = ()
    answers: tuple[Answered, ...] = ()
    later: bool = False
    days: float | None = None
    km: float | None = None


@dataclass(frozen=True, slots=True)
class JobState:
    """All that a job knows, after undoing.

    vehicle: layout, distance, conditions and renewed parts as known now, under the name given at opening.
    complaints: in the order in which they first came up.
    answers: one a finding and position, in the order given; an answer given again stands where it was
    last given. `position` None is an answer of its own, beside those at positions.
    done, skipped, cannot: ids, each once, in the order of their first mention. A check that is turned
    to or done is no longer skipped.
    current: the check in hand, if any. last_check: the check last turned to or done; the car stands as
    that check left it.
    unfit: warnings acknowledged. concluded: remedies settled on, None before any conclusion.
    closed: the outcome, None while the job is open.
    rounds: the repairs in order, each with the drives and answers since, and the later times at which the car
    was looked at again; complaints and answers above are of the car as it was brought. done_now: the checks
    done since the last round began. followed_up: for each piece of work that repairs oblige to, after how
    many rounds it was done, each time. drives: the debriefs, each with the number of rounds before it.
    references: drives to compare with, by whose they are. plans: those that were kept, each with the number
    of rounds before it.
    steps: how many steps an undo could still take back.
    """

    opened: Opened
    vehicle: Vehicle
    complaints: tuple[Heard, ...] = ()
    answers: tuple[Answered, ...] = ()
    done: tuple[str, ...] = ()
    skipped: tuple[str, ...] = ()
    cannot: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    angles: str = ""
    current: str | None = None
    last_check: str | None = None
    unfit: tuple[str, ...] = ()
    concluded: tuple[str, ...] | None = None
    closed: str | None = None
    steps: int = 0
    rounds: tuple[RoundState, ...] = ()
    done_now: tuple[str, ...] = ()
    followed_up: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    drives: tuple[tuple[int, str], ...] = ()
    plans: tuple[tuple[int, e.Planned], ...] = ()
    references: Mapping[str, str] = field(default_factory=dict)


def fold(entries: Sequence[Entry]) -> JobState:
    """The state after these entries, oldest first. O(n).

    Raises JournalError if they are not in the order that `order_faults` demands.
    """
    for index, wrong, mend in order_faults(entries):
        raise JournalError(f"event {index + 1}: {wrong}\n    mend: {mend}")
    standing = live(entries)
    opened = standing[0].event
    assert isinstance(opened, Opened)
    draft = _Draft(opened)
    for entry in standing[1:]:
        draft.take(entry.event)
    return draft.state(steps=len({entry.step for entry in standing}) - 1)


def gathered(opened: Opened, events: Iterable[Event]) -> JobState:
    """The state after these events, all of which stand, oldest first; `steps` is not told (0)."""
    draft = _Draft(opened)
    for event in events:
        draft.take(event)
    return draft.state(steps=0)


def live(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """The entries that still stand, oldest first: without what was undone and without the undoing itself.

    Undoing more steps than stand takes back all but the opening of the job.
    """
    kept: list[list[Entry]] = []
    for _, group in groupby(entries, key=lambda entry: entry.step):
        step = list(group)
        if isinstance(step[0].event, e.Undone):
            del kept[max(1, len(kept) - step[0].event.steps) :]
        else:
            kept.append(step)
    return tuple(entry for step in kept for entry in step)


def order_faults(entries: Sequence[Entry]) -> Iterator[tuple[int, str, str]]:
    """(index, what is wrong, how to mend it) for every entry out of order; nothing for a sound journal.

    Sound: it begins with Opened, the only one, alone in step 1; steps count up one by one; an Undone is
    alone in its step.
    """
    if not entries:
        yield 0, "the job holds no events", "a job begins with the event 'opened'"
    before = 0
    for index, entry in enumerate(entries):
        if index == 0 and not isinstance(entry.event, Opened):
            yield index, f"the job begins with {entry.event.kind!r}", "a job begins with the event 'opened'"
        if index > 0 and isinstance(entry.event, Opened):
            yield index, "the job is opened a second time", "keep only the first 'opened'"
        if index == 0 and entry.step != 1:
            yield index, f"the first step is {entry.step}", "number the steps from 1"
        elif index > 0 and entry.step not in (before, before + 1):
            wrong = f"step {entry.step} follows step {before}"
            yield index, wrong, "number the steps one by one; events of one step share its number"
        if index > 0 and entry.step == before:
            for alone in (entry.event, entries[index - 1].event):
                if isinstance(alone, Opened | e.Undone):
                    wrong = f"{alone.kind!r} shares step {entry.step} with another event"
                    yield index, wrong, f"give {alone.kind!r} a step of its own"
                    break
        before = entry.step


@dataclass(slots=True)
class _Round:
    repairs: list[e.Repaired] = field(default_factory=list)
    complaints: dict[str, Heard] = field(default_factory=dict)
    answers: dict[tuple[str, str | None], Answered] = field(default_factory=dict)
    later: bool = False
    days: float | None = None
    km: float | None = None


@dataclass(slots=True)
class _Draft:
    """The state while it is being folded. Each dict keeps order and lets a later word replace an earlier."""

    opened: Opened
    facts: dict[str, str] = field(default_factory=dict)
    conditions: dict[str, bool] = field(default_factory=dict)
    km: float | None = None
    years: float | None = None
    renewed: dict[tuple[str, str | None], Renewed] = field(default_factory=dict)
    complaints: dict[str, Heard] = field(default_factory=dict)
    answers: dict[tuple[str, str | None], Answered] = field(default_factory=dict)
    done: dict[str, None] = field(default_factory=dict)
    skipped: dict[str, None] = field(default_factory=dict)
    cannot: dict[str, None] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    angles: str = ""
    current: str | None = None
    last_check: str | None = None
    unfit: dict[str, None] = field(default_factory=dict)
    concluded: tuple[str, ...] | None = None
    closed: str | None = None
    rounds: list[_Round] = field(default_factory=list)
    done_now: dict[str, None] = field(default_factory=dict)
    followed_up: dict[str, tuple[int, ...]] = field(default_factory=dict)
    drives: list[tuple[int, str]] = field(default_factory=list)
    plans: list[tuple[int, e.Planned]] = field(default_factory=list)
    references: dict[str, str] = field(default_factory=dict)

    def take(self, event: Event) -> None:
        """Take in one event; every kind but Opened and Undone has its case here."""
        match event:
            case e.VehicleFact(fact, value):
                _set(self.facts, fact, value)
            case e.Distance(km, years):
                self.km, self.years = km, years
            case e.ConditionKnown(condition, holds):
                _set(self.conditions, condition, holds)
            case e.PartRenewed(part, position, at_km, years_ago):
                self.renewed[part, position] = Renewed(part, position, at_km, years_ago)
            case e.ComplaintHeard():
                self._hear(event)
            case e.Answered(finding, position):
                answers = self.rounds[-1].answers if self.rounds else self.answers
                answers.pop((finding, position), None)
                answers[finding, position] = event
            case e.Turned(check):
                self.skipped.pop(check, None)
                self.current = self.last_check = check
            case e.CheckDone(check):
                self.skipped.pop(check, None)
                self.done[check] = self.done_now[check] = None
                self.last_check = check
                self._leave(check)
            case e.Skipped(check):
                self.skipped[check] = None
                self._leave(check)
            case e.Cannot(what):
                self.cannot[what] = None
                self._leave(what)
            case e.Noted(text):
                self.notes.append(text)
            case e.AnglesRead(text):
                self.angles = text
            case e.DriveTold(text):
                self.drives.append((len(self.rounds), text))
            case e.Planned():
                self.plans.append((len(self.rounds), event))
            case e.ReferenceTold(text, of):
                self.references[of] = text
            case e.Repaired():
                self._repair(event)
            case e.FollowedUp(what):
                self.followed_up[what] = (*self.followed_up.get(what, ()), len(self.rounds))
            case e.FeltSince():
                self._feel(event)
            case e.Concluded(remedies):
                self.concluded = remedies
            case e.Unfit(text):
                self.unfit[text] = None
            case e.Closed(outcome):
                self.closed = outcome
            case _:
                raise AssertionError(f"no case for event {event.kind!r}")

    def state(self, steps: int) -> JobState:
        """The frozen result."""
        return JobState(
            opened=self.opened,
            vehicle=Vehicle(
                name=self.opened.name,
                facts=self.facts,
                conditions=self.conditions,
                km=self.km,
                years=self.years,
                renewed=tuple(self.renewed.values()),
            ),
            complaints=tuple(self.complaints.values()),
            answers=tuple(self.answers.values()),
            done=tuple(self.done),
            skipped=tuple(self.skipped),
            cannot=tuple(self.cannot),
            notes=tuple(self.notes),
            angles=self.angles,
            current=self.current,
            last_check=self.last_check,
            unfit=tuple(self.unfit),
            concluded=self.concluded,
            closed=self.closed,
            steps=steps,
            rounds=tuple(
                RoundState(
                    tuple(r.repairs),
                    tuple(r.complaints.values()),
                    tuple(r.answers.values()),
                    r.later,
                    r.days,
                    r.km,
                )
                for r in self.rounds
            ),
            done_now=tuple(self.done_now),
            followed_up=dict(self.followed_up),
            drives=tuple(self.drives),
            plans=tuple(self.plans),
            references=dict(self.references),
        )

    def _hear(self, event: e.ComplaintHeard) -> None:
        self._word(event.complaint, event.answer, event.by, event.side, event.words)

    def _word(self, complaint: str, answer: str, by: str, side: str | None, words: str) -> None:
        # One that nobody spoke of before is told of the car as it was brought.
        later = self.rounds and complaint in self.complaints
        complaints = self.rounds[-1].complaints if later else self.complaints
        before = complaints.get(complaint, Heard(complaint))
        if not later and answer == FADED:
            answer = "yes"  # there is nothing yet that it could have faded from
        by_driver = by == "driver"
        complaints[complaint] = Heard(
            complaint=complaint,
            side=side or before.side,
            words=words or before.words,
            driver=answer if by_driver else before.driver,
            road_test=before.road_test if by_driver else answer,
        )

    def _feel(self, event: e.FeltSince) -> None:
        """A word right after the repair, or one of a later time: of the last one told, or of a new one."""
        if self.rounds and (event.days is not None or event.km is not None):
            last, since = self.rounds[-1], (event.days, event.km)
            if not last.later or (last.days, last.km) != since:
                self._begin(_Round(later=True, days=event.days, km=event.km))
        self._word(event.complaint, event.answer, event.by, None, event.words)

    def _repair(self, event: e.Repaired) -> None:
        """A repair: of the visit under way, or the first of a new one."""
        last = self.rounds[-1] if self.rounds else None
        if last is None or last.later or last.complaints or last.answers:
            self._begin(_Round())
        self.rounds[-1].repairs.append(event)
        self.current = self.concluded = self.closed = None
        self.done_now, self.skipped = {}, {}

    def _begin(self, one: _Round) -> None:
        """A new round: everything can be looked at again, and a closed job goes on."""
        self.rounds.append(one)
        self.current = self.concluded = self.closed = None
        self.done_now, self.skipped = {}, {}

    def _leave(self, check: str) -> None:
        if self.current == check:
            self.current = None


def _set(values: dict[str, _V], key: str, value: _V | None) -> None:
    """Set a value, or forget it where it is None."""
    if value is None:
        values.pop(key, None)
    else:
        values[key] = value
