"""One car searched in one way, from the complaint to its end: minutes, money, parts."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from diagnose.belief.belief import Belief, Car
from diagnose.belief.evidence import observed_key
from diagnose.choice.cost import (
    DANGER_HOURS,
    DRIVE_MINUTES,
    OVERHEAD,
    Cure,
    Cures,
    check_minutes,
    set_up_after,
)
from diagnose.choice.outcomes import Spot, unanswered
from diagnose.model.check import TALK, Check
from diagnose.model.story import Heard, Seen, Story, Workshop
from diagnose.trials.cars import Drawn

__all__ = ["Ended", "Paths", "Search", "Searched", "State", "Step", "steps", "walk"]

#: Checks after which a search is broken off.
MOST_CHECKS = 40


@dataclass(frozen=True, slots=True)
class Step:
    """What is done next: a check (id), a cure (index), or neither: the job is handed on."""

    check: str | None = None
    cure: int | None = None


@dataclass(frozen=True)
class State:
    """Where a search stands; equal states lead on alike. The belief is made when it is asked for.

    news: the last check has shown something, or a cure was carried out since.
    """

    car: Car
    story: Story
    cures: Cures
    workshop: Workshop
    set_up: str
    done: tuple[str, ...]
    news: bool

    @cached_property
    def belief(self) -> Belief:
        """What is believed here."""
        return Belief(self.car, self.story)


#: How to go on from a state.
Search = Callable[[State], Step]


@dataclass(frozen=True, slots=True)
class Ended:
    """How one search ended.

    minutes: of looking, changes of set-up and drives. money: the whole cost, in the currency of the choice:
    labour of those minutes, sound parts cured, handing on, danger left behind. wrong: sound parts that were
    renewed. tried: cures carried out. first: the first of them ended the complaint. cured: one did.
    """

    minutes: float
    money: float
    checks: int
    wrong: int
    tried: int
    first: bool
    cured: bool


@dataclass
class Paths:
    """One way of searching cars of one model; what it decides is kept for cars that answer alike."""

    car: Car
    heard: tuple[Heard, ...]
    workshop: Workshop
    search: Search
    cures: Cures = field(init=False)
    _cars: dict[tuple[frozenset[int], frozenset[str]], Car] = field(default_factory=dict)
    _steps: dict[object, tuple[Step, tuple[Spot, ...]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.cures = Cures(self.car, self.workshop)

    def step(
        self,
        seen: tuple[Seen, ...],
        cured: frozenset[int],
        before: frozenset[str],
        set_up: str,
        done: tuple[str, ...],
        news: bool,
    ) -> tuple[Step, tuple[Spot, ...]]:
        """What to do next, and what to look at if it is a check.

        before: keys of the events observed before the last cure.
        """
        name = (frozenset(seen), cured, before, set_up, frozenset(done))
        if name not in self._steps:
            if (cured, before) not in self._cars:
                self._cars[cured, before] = self.car.after(cured, before) if cured else self.car
            car = self._cars[cured, before]
            story = Story(self.car.vehicle, self.heard, seen)
            step = self.search(State(car, story, self.cures, self.workshop, set_up, done, news))
            spots = unanswered(car, story, car.checks[step.check]) if step.check is not None else []
            self._steps[name] = (step, tuple(spots))
        return self._steps[name]


@dataclass(frozen=True)
class Searched:
    """One drawn car in the middle of a search, and what that has come to so far.

    before: keys of the events observed before the last cure. minutes, wrong, tried as in `Ended`; wasted:
    money for cures that ended no fault. first: the first cure ended the complaint. there: it is still there.
    """

    drawn: Drawn
    cures: Cures
    workshop: Workshop
    seen: tuple[Seen, ...] = ()
    cured: frozenset[int] = frozenset()
    before: frozenset[str] = frozenset()
    done: tuple[str, ...] = ()
    set_up: str = TALK
    minutes: float = 0.0
    wasted: float = 0.0
    wrong: int = 0
    tried: int = 0
    first: bool = False
    there: bool = True
    news: bool = True

    def looked(self, check: Check, spots: Sequence[Spot]) -> Searched:
        """The same after this check, with what it shows at these spots."""
        answers = tuple(self.drawn.answer(spot, self.cured) for spot in spots)
        return replace(
            self,
            seen=self.seen + answers,
            done=(*self.done, check.id),
            set_up=set_up_after(check, self.set_up),
            minutes=self.minutes + check_minutes(self.drawn.car.library, check, self.set_up) + OVERHEAD,
            news=any(each.answer != "no" for each in answers),
        )

    def sound(self, cure: Cure) -> bool:
        """True if this cure would end no fault of the car."""
        return not any(cause in self.drawn.present and cause not in self.cured for cause in cure.causes)

    def put_right(self, cure: Cure, driven: bool = True) -> Searched:
        """The same after this cure and, if it is driven, the drive after it."""
        vain = self.sound(cure)
        library = self.drawn.car.library
        renews = library.remedies[cure.remedy].parts > 0.0
        cured = self.cured | frozenset(cure.causes)
        there = self.drawn.complaint(cured)
        return replace(
            self,
            cured=cured,
            before=frozenset(observed_key(library, each.finding, each.position) for each in self.seen),
            set_up=TALK,
            minutes=self.minutes + (DRIVE_MINUTES if driven else 0.0),
            wasted=self.wasted + (cure.money if vain else 0.0),
            wrong=self.wrong + (vain and renews),
            tried=self.tried + 1,
            first=not there and self.tried == 0,
            there=there,
            news=True,
        )

    def ended(self) -> Ended:
        """What it comes to if the search stops here: with the complaint still there, it is handed on."""
        money = self.wasted
        if self.there:
            money += self.cures.prices.unsolved
            money += self.workshop.labour(DANGER_HOURS * 60.0) * len(_dangers(self.drawn, self.cured))
        money += self.workshop.labour(self.minutes)
        return Ended(self.minutes, money, len(self.done), self.wrong, self.tried, self.first, not self.there)


def walk(drawn: Drawn, paths: Paths) -> Ended:
    """Search this car to the end."""
    *_, last = steps(drawn, paths)
    return last[1].ended()


def steps(drawn: Drawn, paths: Paths) -> Iterator[tuple[Step, Searched]]:
    """Search this car step by step: each step taken, with where it left the search; the last step is one
    that ended the complaint, or one that does neither check nor cure."""
    at = Searched(drawn, paths.cures, paths.workshop)
    while True:
        step, spots = paths.step(at.seen, at.cured, at.before, at.set_up, at.done, at.news)
        if step.check is not None and len(at.done) == MOST_CHECKS:
            step = Step()
        if step.check is not None:
            at = at.looked(paths.car.library.checks[step.check], spots)
        elif step.cure is not None:
            at = at.put_right(paths.cures.all[step.cure])
        yield step, at
        if not at.there or (step.check is None and step.cure is None):
            return


def _dangers(drawn: Drawn, cured: frozenset[int]) -> set[int]:
    """Faults that make the car unfit to drive and that act on a complaint, still there."""
    network, library = drawn.car.plain.network, drawn.car.library
    acting = {
        each.source
        for key in network.blame
        for each, level in zip(network.nodes[key].inputs, drawn.coins[key], strict=False)
        if level and isinstance(each.source, int) and each.source in drawn.present - cured
    }
    return {n for n in acting if library.faults[drawn.car.causes[n].fault].danger == "stop"}
