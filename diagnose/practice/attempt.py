"""An attempt at an exercise: moves, and where they leave the search; safe as a job is.

A move is a check or a cure. A car that was found unfit is not driven: neither to look further, nor after a
cure that leaves the reason in it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from diagnose.belief.belief import Car
from diagnose.choice.cost import Cure, check_minutes
from diagnose.choice.decide import decide
from diagnose.choice.lookahead import candidates_of
from diagnose.choice.outcomes import Spot, unanswered
from diagnose.choice.verdict import found_unfit
from diagnose.model.check import Check
from diagnose.model.library import Library
from diagnose.model.position import meets
from diagnose.model.story import Round, Seen, Story, Workshop
from diagnose.practice.exercise import Exercise
from diagnose.trials.walk import Paths, Searched, State, Step, steps

__all__ = ["Attempt", "Choice", "as_the_program", "mends", "unfit"]


@dataclass(frozen=True, slots=True)
class Choice:
    """A check that can be done now, with the findings that it would give and its minutes from here."""

    check: Check
    spots: tuple[Spot, ...]
    minutes: float


@dataclass
class Attempt:
    """An exercise under way. trace: each step taken, with where it left the search; hints: asked for."""

    exercise: Exercise
    trace: list[tuple[Step, Searched]] = field(default_factory=list)
    hints: int = 0
    _cars: dict[tuple[frozenset[int], frozenset[str]], Car] = field(default_factory=dict)

    @property
    def at(self) -> Searched:
        """Where the search stands."""
        if self.trace:
            return self.trace[-1][1]
        return Searched(self.exercise.car, self.exercise.cures, self.exercise.workshop)

    @property
    def car(self) -> Car:
        """The model of the car as it is now: after the cures carried out."""
        at, brought = self.at, self.exercise.car.car
        key = (at.cured, at.before)
        if key not in self._cars:
            self._cars[key] = brought.after(at.cured, at.before) if at.cured else brought
        return self._cars[key]

    @property
    def story(self) -> Story:
        """What was told and seen so far."""
        return Story(self.exercise.car.car.vehicle, self.exercise.heard, self.at.seen)

    @property
    def unfit(self) -> tuple[str, ...]:
        """Why the car is not fit to drive, in words; empty if nothing seen says so."""
        return unfit(self.exercise.car.car, self.at.seen, self.at.cured)

    @property
    def state(self) -> State:
        """The same as the program would stand before it; its belief is made when it is asked for."""
        at, one = self.at, self.exercise
        return State(self.car, self.story, one.cures, one.workshop, at.set_up, at.done, at.news)

    def proposed(self) -> Step:
        """What the program would do next."""
        return _own(self.state)

    def choices(self) -> list[Choice]:
        """The checks that can be done now and that could tell something, cheapest first in each set-up."""
        workshop = self.exercise.workshop
        if self.unfit:
            workshop = not_driven(self.car.library, workshop)
        library = self.car.library
        found = [
            Choice(check, tuple(spots), check_minutes(library, check, self.at.set_up))
            for check, spots in candidates_of(self.car, self.story, workshop, self.at.done)
        ]
        return sorted(found, key=lambda each: (each.minutes, each.check.id))

    def cures(self) -> list[Cure]:
        """The cures that can be carried out now, of suspects only and each once."""
        suspects = self.exercise.car.car.suspects()
        allowed = mends(self.exercise.car.car, self.at.seen, self.at.cured)
        return [
            cure
            for cure in self.exercise.cures.all
            if suspects & set(cure.causes)
            and not set(cure.causes) <= self.at.cured
            and (not allowed or allowed & set(cure.causes))
        ]

    def look(self, check: Check) -> tuple[Seen, ...]:
        """Do a check; what it shows."""
        spots = unanswered(self.car, self.story, check)
        before = len(self.at.seen)
        self.trace.append((Step(check=check.id), self.at.looked(check, spots)))
        return self.at.seen[before:]

    def put_right(self, cure: Cure) -> None:
        """Carry out a cure, and drive the car."""
        number = self.exercise.cures.all.index(cure)
        self.trace.append((Step(cure=number), self.at.put_right(cure)))

    def replay(self, moves: Iterable[Mapping[str, str]]) -> None:
        """Do again what was done before: `check` with an id, `cure` with `remedy@place`, or a `hint`.

        Raises ValueError for a move that cannot be done, which other trees or figures would make so.
        """
        names = {f"{cure.remedy}@{cure.place}": cure for cure in self.exercise.cures.all}
        for move in moves:
            check = self.exercise.car.car.checks.get(move.get("check", ""))
            cure = names.get(move.get("cure", ""))
            if check is not None:
                self.look(check)
            elif cure is not None:
                self.put_right(cure)
            elif "hint" in move:
                self.hints += 1
            else:
                raise ValueError(f"{dict(move)!r} cannot be done on this car")


def as_the_program(exercise: Exercise) -> Iterator[tuple[Step, Searched]]:
    """What the program does on the very same car, step by step; it drives no unfit car either."""
    paths = Paths(exercise.car.car, exercise.heard, exercise.workshop, _own)
    return steps(exercise.car, paths)


def _own(state: State) -> Step:
    """The program's own way, as its walk proposes it."""
    seen, cured = state.story.seen, state.car.cured
    reasons = unfit(state.car, seen, cured)
    workshop = not_driven(state.car.library, state.workshop) if reasons else state.workshop
    made = decide(state.belief, state.cures, workshop, state.set_up, state.done)
    if made.check is not None:
        return Step(check=made.check.check)
    allowed = mends(state.car, seen, cured)
    if allowed and (made.cure is None or not allowed & set(state.cures.all[made.cure].causes)):
        # What makes it unfit comes first: without it no drive can tell whether anything helped.
        present = state.belief.present
        return Step(cure=int(state.cures.of_cause[max(allowed, key=lambda n: (float(present[n]), -n))]))
    return Step(cure=made.cure)


def not_driven(library: Library, workshop: Workshop) -> Workshop:
    """The workshop without the set-ups in which the car is driven."""
    driven = {each.id for each in library.set_ups.values() if each.driven}
    return replace(workshop, cannot=workshop.cannot | driven)


def unfit(car: Car, seen: Sequence[Seen], cured: Collection[int]) -> tuple[str, ...]:
    """Why a car on which this was seen is not fit to drive, once these causes (indices) were put right."""
    mended = tuple((car.causes[n].fault, car.causes[n].position) for n in sorted(cured))
    rounds = (Round(mended),) if mended else ()
    return found_unfit(car, Story(car.vehicle, (), tuple(seen), rounds))


def mends(car: Car, seen: Sequence[Seen], cured: Collection[int]) -> frozenset[int]:
    """The causes (indices) of which one has to be put right before the car may be driven; empty: any may."""
    if not unfit(car, seen, cured):
        return frozenset()
    library = car.library
    telling = [each for each in seen if unfit(car, (each,), cured)]
    return frozenset(
        number
        for each in telling
        for link in library.findings[each.finding].links
        for number, cause in enumerate(car.causes)
        if cause.fault == link.target and meets(each.position, cause.position) and number not in cured
    )
