"""All that a sheet is made from, worked out once: the job, its beliefs answer by answer, and a plan."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from diagnose.belief.belief import Belief, Car
from diagnose.belief.network import Cause
from diagnose.choice.verdict import Row, Verdict
from diagnose.errors import ImpossibleAnswers
from diagnose.job import events as e
from diagnose.job.proof import CURED, Proof, proof_of
from diagnose.job.repairs import Standing
from diagnose.job.session import Moment, Session
from diagnose.model.library import Library
from diagnose.model.position import told_place
from diagnose.model.story import Workshop
from diagnose.plan.chosen import Plan
from diagnose.plan.wishes import Wishes
from diagnose.screen.stages import amounts

__all__ = ["Material", "Then"]


@dataclass(frozen=True)
class Then:
    """One moment of the job and what was believed after it."""

    moment: Moment
    belief: Belief

    @cached_property
    def blame(self) -> dict[str, float]:
        """Cause id -> P(to blame) then; of what was put right, 0."""
        return {
            cause.id: float(blame)
            for cause, blame in zip(self.belief.causes, self.belief.to_blame, strict=True)
        }


@dataclass(frozen=True)
class Material:
    """A job and what a sheet says of it. name: `job-7`, or of a case file. made: the day of the sheet.

    nameless: leave out whatever somebody typed: names, plate, notes and the driver's words. plan: None where
    nothing is to be planned any more. worth: what it is worth to be rid of the complaint, in money.
    purse: currency and rate of the plan; None: those of the job. called: the name that it was given later.
    """

    session: Session
    name: str
    made: date
    nameless: bool = False
    plan: Plan | None = None
    wishes: Wishes = field(default_factory=Wishes)
    worth: float | None = None
    purse: Workshop | None = None
    called: str = ""

    @property
    def library(self) -> Library:
        """The trees."""
        return self.session.library

    @property
    def verdict(self) -> Verdict:
        """Where the search stands."""
        return self.session.verdict

    @property
    def car_name(self) -> str:
        """The name of the car as last given; empty where such texts are left out."""
        return self.said(self.called or self.session.state.vehicle.name)

    @cached_property
    def amount(self) -> Callable[[float], str]:
        """How money is written: in hours of labour where no currency is known."""
        return amounts(self.purse or self.verdict.workshop, self.wishes)

    @cached_property
    def proof(self) -> Proof:
        """What the job proves, from the car as it was brought to where it stands."""
        return proof_of(self.session)

    @property
    def standings(self) -> tuple[Standing, ...]:
        """The job round by round, later times among them."""
        return self.proof.standings

    @property
    def cured(self) -> bool:
        """True if it was repaired and driven since, and the complaint counts as gone."""
        last = self.standings[-1]
        return bool(last.number) and last.driven and 1.0 - last.there >= CURED

    @cached_property
    def rows(self) -> dict[str, Row]:
        """Cause id -> its row in the ranking, of what may still be behind the complaint."""
        return {row.id: row for row in self.verdict.rows}

    @cached_property
    def _causes(self) -> dict[str, Cause]:
        return {cause.id: cause for cause in self.verdict.car.causes}

    def cause(self, cause: str) -> str:
        """The name of a cause with its place, whether or not it may still be behind the complaint."""
        fault = self.library.faults[self.fault(cause)]
        place = self.place(cause)
        return f"{self.library.parts[fault.part].name}: {fault.name}" + (f", {place}" if place else "")

    def fault(self, cause: str) -> str:
        """The id of its fault."""
        return self._causes[cause].fault

    def place(self, cause: str) -> str:
        """Where it is, in words; empty for a part that has one place."""
        return told_place(self.library.faults[self.fault(cause)].where, self._causes[cause].position)

    @cached_property
    def history(self) -> tuple[Then, ...]:
        """What was believed after each step that told something; a step that fits no car is passed over."""
        cars: dict[object, Car] = {}
        found = []
        for moment in self.session.moments():
            story = moment.story
            key = tuple(story.complaints.items())
            if key not in cars:
                cars[key] = Car(self.library, story.vehicle, story.complaints)
            car = cars[key]
            try:
                belief = Belief(car.through(story) if story.rounds else car, story)
            except ImpossibleAnswers:
                continue
            found.append(Then(moment, belief))
        return tuple(found)

    @cached_property
    def angle_checks(self) -> frozenset[str]:
        """Checks that were answered by a wheel-angle sheet, which is shown as such."""
        return frozenset(
            event.finding.partition("/")[0]
            for then in self.history
            if any(isinstance(each, e.AnglesRead) for each in then.moment.events)
            for event in then.moment.events
            if isinstance(event, e.Answered)
        )

    @cached_property
    def brought(self) -> Belief:
        """What is believed of the car as it was brought, by all that was seen before the first repair."""
        before = [then for then in self.history if not then.moment.story.rounds]
        return before[-1].belief if before else self.verdict.belief

    def said(self, text: str) -> str:
        """What somebody typed, or nothing where such texts are left out."""
        return "" if self.nameless else text

    def joined(self, texts: Sequence[str]) -> str:
        """The texts that are there, between middle dots."""
        return " \u00b7 ".join(text for text in texts if text)
