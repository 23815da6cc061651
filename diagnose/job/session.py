"""One job at work: what has been answered, what that makes of the car, and what is next.

A session holds no truth of its own: everything is computed from the journal, so a job that was killed
goes on at the same question. Every act is on the disk before the session says that it happened.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from diagnose.angles.evidence import Said
from diagnose.angles.sheet import Sheets
from diagnose.angles.write import sheet_yaml
from diagnose.belief.belief import Belief, Car
from diagnose.choice.cost import Cures, check_minutes, possible, set_up_after
from diagnose.choice.outcomes import Spot, open_spots
from diagnose.choice.verdict import Verdict
from diagnose.debrief.compare import compare
from diagnose.debrief.drive import Drive
from diagnose.debrief.evidence import heard as heard_on
from diagnose.debrief.write import drive_yaml
from diagnose.errors import ImpossibleAnswers, InputError
from diagnose.job import events as e
from diagnose.job.drives import drive_before_repair
from diagnose.job.journal import Journal
from diagnose.job.profile import profile_path, remember_lack
from diagnose.job.repairs import ends_of, followed_by, meant, obligations, whole
from diagnose.job.sheets import answered, laid_over, sheets_of
from diagnose.job.state import JobState, fold, live
from diagnose.job.story import answered_event, known_story, story_of
from diagnose.model.check import TALK, Check
from diagnose.model.complaint import layouts
from diagnose.model.library import FollowUp, Library
from diagnose.model.story import FADED, Heard, Seen, Story, Workshop
from diagnose.version import __version__

__all__ = ["Moment", "Session", "spent_minutes", "story_of", "workshop_of"]

#: A layout or condition is asked about if it decides at least this share of what is to blame.
MATTERS = 0.06

#: Facts and conditions asked at most, so that the questions about the car stay few.
MOST_FACTS = 3
MOST_CONDITIONS = 1


def workshop_of(state: JobState) -> Workshop:
    """Rates from the opening of the job, and what was found not to be possible since."""
    told = state.opened.workshop
    default = Workshop()
    cannot, rate = told.get("cannot", ()), told.get("labour-rate")
    return Workshop(
        str(told.get("currency", default.currency)),
        float(rate) if isinstance(rate, int | float) else default.labour_rate,
        frozenset([*(cannot if isinstance(cannot, list | tuple) else ()), *state.cannot]),
    )


def spent_minutes(library: Library, state: JobState) -> float:
    """Minutes that the checks done so far take, changes of set-up included."""
    total, set_up = 0.0, TALK
    for name in state.done:
        check = library.checks.get(name)
        if check is not None:
            total += check_minutes(library, check, set_up)
            set_up = set_up_after(check, set_up)
    return total


@dataclass(frozen=True, slots=True)
class Ask:
    """Something about the car worth asking: a fact or a condition by id."""

    kind: str  # "fact", "condition" or "distance"
    id: str


#: Events that tell something of the car.
_TELLING = e.Answered | e.ComplaintHeard | e.FeltSince


@dataclass(frozen=True, slots=True)
class Moment:
    """One step that told something: when (UTC), its events, and the story until then (of the car by all that
    is known of it now)."""

    time: datetime
    events: tuple[e.Event, ...]
    story: Story


def _asked(story: Story) -> object:
    """What the model of a car hangs on besides the car: its rounds, what was answered before each, and which
    complaints have faded."""
    answered = [story.seen, *(each.seen for each in story.rounds)]
    keys = [frozenset((s.finding, s.position) for s in each) for each in answered[:-1]]
    faded = [frozenset(h.complaint for h in each.heard if h.answer == FADED) for each in story.rounds]
    bare = [replace(each, heard=(), seen=()) for each in story.rounds]
    return tuple(zip(bare, keys, faded, strict=True))


class Session:
    """A job with its library. Methods that act raise JournalError if the act cannot be kept."""

    def __init__(self, library: Library, journal: Journal, job: str) -> None:
        self.library = library
        self.journal = journal
        self.job = job
        self._entries = journal.events(job)
        self.state = fold(self._entries)
        self._car: tuple[object, Car, Cures] | None = None
        self._verdict: Verdict | None = None

    @classmethod
    def start(
        cls,
        library: Library,
        journal: Journal,
        name: str,
        workshop: Workshop,
        steps: Sequence[Sequence[e.Event]] = (),
    ) -> Session:
        """Open a new job; `steps` are its first acts."""
        told: dict[str, object] = {"currency": workshop.currency, "labour-rate": workshop.labour_rate}
        if workshop.cannot:
            told["cannot"] = sorted(workshop.cannot)
        job = journal.create(
            name,
            library_digest=library.digest,
            program_version=__version__,
            workshop=told,
            steps=steps,
        )
        return cls(library, journal, job)

    # What is known -------------------------------------------------------------------------

    @property
    def story(self) -> Story:
        """The story so far, without what this library no longer knows."""
        return known_story(self.library, self.state)

    @property
    def unknown(self) -> list[str]:
        """Answers and complaints of the job that this library does not have, by id."""
        story = story_of(self.state)
        names = [h.complaint for h in story.heard if h.complaint not in self.library.complaints]
        names += [s.finding for s in story.seen if s.finding not in self.library.findings]
        return list(dict.fromkeys(names))

    def moments(self) -> list[Moment]:
        """The job after each step that told something of the car as it is known now, oldest first."""
        found: list[Moment] = []
        standing = live(self._entries)
        steps = list(dict.fromkeys(entry.step for entry in standing))
        before = Story()
        for step in steps:
            story = known_story(self.library, fold_standing([n for n in standing if n.step <= step]))
            story = replace(story, vehicle=self.state.vehicle)
            if replace(story, vehicle=before.vehicle) != before:
                mine = [entry for entry in standing if entry.step == step]
                found.append(Moment(mine[0].time, tuple(entry.event for entry in mine), story))
                before = story
        return found

    @property
    def set_up(self) -> str:
        """The state that the car is in: that of the check last turned to; questions leave it there."""
        for entry in reversed(live(self._entries)):
            if isinstance(entry.event, e.Turned | e.CheckDone):
                check = self.library.checks.get(entry.event.check)
                if check is None or check.set_up == TALK or check.set_up in self.state.cannot:
                    continue
                return check.set_up
        return TALK

    @property
    def spent(self) -> float:
        """Minutes spent on checks so far."""
        return spent_minutes(self.library, self.state)

    def _model(self, story: Story, workshop: Workshop) -> tuple[Car, Cures]:
        key = (repr(story.vehicle), tuple(story.complaints.items()), workshop, _asked(story))
        if self._car is None or self._car[0] != key:
            car = Car(self.library, story.vehicle, story.complaints)
            self._car = (key, car.through(story) if story.rounds else car, Cures(car, workshop))
        return self._car[1], self._car[2]

    @property
    def verdict(self) -> Verdict:
        """Where the search stands. Raises ImpossibleAnswers if the answers cannot all be true."""
        if self._verdict is None:
            story, workshop = self.story, workshop_of(self.state)
            car, cures = self._model(story, workshop)
            done = {*self.state.done_now, *self.state.skipped}
            self._verdict = Verdict(car, story, workshop, self.set_up, self._before(car), done, cures)
        return self._verdict

    def _before(self, car: Car) -> Belief | None:
        """The belief without the last step that told something; None if that was the first."""
        standing = live(self._entries)
        telling = [n.step for n in standing if isinstance(n.event, _TELLING)]
        if not telling:
            return None
        story = known_story(self.library, fold_standing([n for n in standing if n.step != telling[-1]]))
        if not story.heard or story.complaints != self.story.complaints:
            return None
        if _asked(story) != _asked(self.story):
            # Before the last repair: another model of the car.
            car = Car(self.library, self.story.vehicle, story.complaints)
            car = car.through(story) if story.rounds else car
        try:
            return Belief(car, replace(story, vehicle=self.story.vehicle))
        except ImpossibleAnswers:
            return None

    def asks(self) -> list[Ask]:
        """What about the car is still worth asking for these complaints, most telling first."""
        vehicle = self.state.vehicle
        answered = {n.event.fact for n in live(self._entries) if isinstance(n.event, e.VehicleFact)}
        known = {n.event.condition for n in live(self._entries) if isinstance(n.event, e.ConditionKnown)}
        told_distance = any(isinstance(n.event, e.Distance) for n in live(self._entries))
        asks: list[Ask] = []
        if len(answered) < MOST_FACTS:
            weights = self._fact_weights()
            for fact in sorted(weights, key=lambda f: -weights[f]):
                if fact not in vehicle.facts and fact not in answered and weights[fact] >= MATTERS:
                    asks.append(Ask("fact", fact))
            asks = asks[: MOST_FACTS - len(answered)]
        if not told_distance:
            asks.append(Ask("distance", "distance"))
        if len(known) < MOST_CONDITIONS:
            weights = self._condition_weights()
            best = [c for c in sorted(weights, key=lambda c: -weights[c]) if weights[c] >= MATTERS]
            asks += [Ask("condition", c) for c in best if c not in known][:1]
        return asks

    def _fact_weights(self) -> dict[str, float]:
        """For each fact, the share of the blame that rests on causes which depend on it, or their ways up."""
        belief = self.verdict.belief
        on_the_way: dict[str, set[str]] = {}
        for complaint in self.verdict.car.complaints:
            top = self.library.complaints[complaint].top
            for below, facts in layouts(top, self.library.mechanisms):
                on_the_way.setdefault(below, set()).update(facts)
        whole = float(belief.to_blame.sum()) or 1.0
        weights: dict[str, float] = {}
        for number, cause in enumerate(belief.causes):
            fault = self.library.faults[cause.fault]
            part = self.library.parts[fault.part]
            for fact in sorted({*part.fits, *fault.fits, *on_the_way.get(cause.fault, ())}):
                weights[fact] = weights.get(fact, 0.0) + float(belief.to_blame[number]) / whole
        return weights

    def _condition_weights(self) -> dict[str, float]:
        """For each condition, the blame of the causes that it lifts, weighted by how much."""
        belief = self.verdict.belief
        whole = float(belief.to_blame.sum()) or 1.0
        weights: dict[str, float] = {}
        for number, cause in enumerate(belief.causes):
            for condition, factor in self.library.faults[cause.fault].lifts.items():
                share = float(belief.to_blame[number]) / whole * min(abs(factor - 1.0), 2.0) / 2.0
                weights[condition] = weights.get(condition, 0.0) + share
        return weights

    def check_now(self) -> Check | None:
        """The check in hand, or the one proposed; None when it is time to conclude."""
        current = self.library.checks.get(self.state.current or "")
        if current is not None and possible(current, workshop_of(self.state)):
            return current
        proposal = self.verdict.next
        return self.library.checks[proposal.check] if proposal else None

    def spots(self, check: Check) -> list[Spot]:
        """The findings of a check that are still to be answered."""
        return open_spots(self.verdict.belief, check)

    # Acts --------------------------------------------------------------------------------------

    def do(self, *events: e.Event) -> None:
        """Keep one act; returns once it is on the disk."""
        self.journal.append(self.job, *events)
        self._entries = self.journal.events(self.job)
        self.state = fold(self._entries)
        self._verdict = None

    def hear(
        self, complaint: str, side: str | None, words: str, answer: str = "yes", by: str = "driver"
    ) -> None:
        """The driver (or a road test) speaks to a complaint."""
        self.do(
            e.ComplaintHeard.from_dict(
                {
                    "event": "complaint-heard",
                    "complaint": complaint,
                    "side": side,
                    "words": words,
                    "answer": answer,
                    "by": by,
                }
            )
        )

    def answer(self, check: Check, answers: Sequence[Seen], note: str = "") -> None:
        """All answers of one check, kept together, with a note of the figures behind them if there are any.

        Raises ImpossibleAnswers, keeping nothing.
        """
        Belief(self.verdict.car, self._with(answers))
        events: list[e.Event] = [e.Turned(check.id)]
        events += [answered_event(self.library, seen) for seen in answers]
        if note:
            events.append(e.Noted(note))
        self.do(*events, e.CheckDone(check.id))

    def _with(self, answers: Sequence[Seen]) -> Story:
        """The story with these answers of now."""
        story = self.story
        told = {(seen.finding, seen.position) for seen in answers}
        kept = (each for each in story.seen_now if (each.finding, each.position) not in told)
        return story.seeing((*kept, *answers))

    @property
    def sheets(self) -> Sheets:
        """The wheel-angle sheets of the job."""
        return sheets_of(self.state.angles)

    def measure(self, sheets: Sheets, again: bool = False) -> Said:
        """Keep wheel-angle sheets with what they answer, in one step; what was measured before stays.

        again: they are a second reading of the car as it was brought, nothing set in between, which shows
        what does not repeat. Raises InputError if there is no first one.
        """
        known = self.sheets
        if again and (known.before is None or sheets.before is None):
            raise InputError("a second reading needs a first: the job and the sheet both need `before`")
        whole = laid_over(known, sheets)
        car = self.verdict.car
        found = answered(self.library, whole, car, known.before if again else None)
        events: list[e.Event] = [e.AnglesRead(sheet_yaml(whole))]
        for check in dict.fromkeys(each.check for each in found.answers):
            events.append(e.Turned(check))
            events += [answered_event(self.library, each) for each in found.of(check)]
            events.append(e.CheckDone(check))
        self.do(*events)
        return found

    def tell(
        self, drive: Drive, days: float | None = None, km: float | None = None
    ) -> tuple[list[Heard], list[Heard]]:
        """Keep the debrief of a drive, with what it says of the job's complaints, in one step.

        days, km: since the last repair, where that was a while ago. Returns what it says, and what was felt
        besides that the job has no complaint of. Raises InputError as `feel` does.
        """
        self.demand_later(days, km)
        complaints = self.verdict.car.complaints
        said = heard_on(self.library, drive, among=complaints)
        mine = [each for each in said if each.complaint in complaints]
        told = e.DriveTold(drive_yaml(drive))
        besides = [each for each in said if each.complaint not in complaints]
        if not self.state.rounds:
            heard = [
                _heard_event(replace(each, side=each.side or complaints[each.complaint])) for each in mine
            ]
            self.do(told, *heard)
            return mine, besides
        faded = self._faded(drive)
        answers = {
            each.complaint: FADED if each.answer == "yes" and each.complaint in faded else each.answer
            for each in mine
        }
        if days is not None or km is not None:
            # The time is told of every complaint, so that the drive belongs to it whatever it says.
            answers = {each: answers.get(each, "cannot-tell") for each in complaints}
            self.do(*_felt_events(answers, days, km), told)
        else:
            self.do(told, *_felt_events(answers, None, None))
        return [replace(each, answer=answers[each.complaint]) for each in mine], besides

    def _faded(self, drive: Drive) -> frozenset[str]:
        """Complaints that the last drive before the repair rated worse, by more than scatter."""
        earlier = drive_before_repair(self.library, self.state)
        if earlier is None:
            return frozenset()
        changes = compare(self.library, earlier, drive)
        return frozenset(
            each.complaint for each in changes if each.change == "better" and each.verdict == "clear"
        )

    def feel(
        self,
        answers: Mapping[str, str],
        days: float | None = None,
        km: float | None = None,
        by: str = "road-test",
    ) -> None:
        """Keep how the job's complaints (id -> answer) were after the last repair, in one step.

        days, km: since that repair, where it was a while ago. Raises InputError where nothing was repaired
        yet, or a later time was told of before.
        """
        if not self.state.rounds:
            raise InputError("nothing was repaired yet: there is no drive after a repair to tell of")
        self.demand_later(days, km)
        self.do(*_felt_events(answers, days, km, by))

    def demand_later(self, days: float | None, km: float | None) -> None:
        """Raises InputError where nothing was repaired yet, or the time lies before the last one told."""
        if days is None and km is None:
            return
        rounds = self.state.rounds
        if not rounds:
            raise InputError("nothing was repaired yet: days and km count from a repair")
        last = rounds[-1]
        if not last.later:
            return
        for now, told, unit in ((days, last.days, "days"), (km, last.km, "km")):
            if now is not None and told is not None and now < told:
                raise InputError(
                    f"{now:g} {unit} after the repair lie before the {told:g} {unit} told of last: "
                    "take that back first (`u` in `diagnose resume`)"
                )

    def refer(self, drive: Drive, of: str) -> None:
        """Keep a drive to compare with: of a `good-car`, or of the `same-car-before`."""
        told = {"event": "reference-told", "text": drive_yaml(drive), "of": of}
        self.do(e.ReferenceTold.from_dict(told))

    @property
    def obligations(self) -> list[FollowUp]:
        """Work that the repairs so far oblige to, not done yet."""
        return obligations(self.library, self.state)

    def repair(self, *done: e.Repaired) -> None:
        """Keep remedies that were carried out in one visit, with the work done together with them."""
        follow = dict.fromkeys(each for one in done for each in followed_by(self.library, one))
        self.do(*(whole(self.verdict.car, each) for each in done), *follow)

    def repaired(self, typed: str, **told: Any) -> e.Repaired:
        """The event of a remedy named `remedy@place`. Raises InputError for one that this car has not."""
        cure = meant(self.verdict.cures, typed)
        return e.Repaired(cure.remedy, cure.place, ends_of(self.verdict.car, cure), **told)

    def turn_to(self, check: str) -> None:
        """Take a check in hand. Raises InputError for one that cannot be done on this car."""
        if check not in self.verdict.car.checks:
            raise InputError(f"{check!r} cannot be done on this car")
        self.do(e.Turned(check))

    def lack_always(self, what: str) -> None:
        """Keep in the workshop's profile, for jobs to come, that it lacks this set-up or tool.

        Raises WorkshopError, changing nothing, if the profile cannot be read or written.
        """
        remember_lack(self.library, profile_path(self.journal.path), what)

    def undo(self, steps: int) -> int:
        """Take back so many acts, but never the opening; returns how many were taken back."""
        count = min(steps, self.state.steps)
        if count:
            self.do(e.Undone(count))
        return count


def _heard_event(heard: Heard) -> e.Event:
    told = {"complaint": heard.complaint, "side": heard.side, "answer": heard.answer, "by": heard.by}
    return e.ComplaintHeard.from_dict({"event": "complaint-heard", **told})


def _felt_events(
    answers: Mapping[str, str], days: float | None, km: float | None, by: str = "road-test"
) -> list[e.Event]:
    told = {"event": "felt-since", "days": days, "km": km, "by": by}
    return [
        e.FeltSince.from_dict({**told, "complaint": each, "answer": said}) for each, said in answers.items()
    ]


def fold_standing(entries: Sequence[e.Entry]) -> JobState:
    """The state after entries of which some were left out: their steps are numbered again."""
    numbers = {step: n for n, step in enumerate(dict.fromkeys(entry.step for entry in entries), 1)}
    return fold([e.Entry(numbers[entry.step], entry.time, entry.event) for entry in entries])
