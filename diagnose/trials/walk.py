"""One car searched in one way, from the complaint to its end: minutes, money, parts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

from diagnose.belief.belief import Belief, Car
from diagnose.belief.network import finding_key
from diagnose.choice.cost import DANGER_HOURS, DRIVE_MINUTES, OVERHEAD, Cures, check_minutes, set_up_after
from diagnose.choice.outcomes import Spot, unanswered
from diagnose.model.check import TALK
from diagnose.model.story import Heard, Seen, Story, Workshop
from diagnose.trials.cars import Drawn

__all__ = ["Ended", "Paths", "Search", "State", "Step", "walk"]

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

        before: keys of the findings answered before the last cure.
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


def walk(drawn: Drawn, paths: Paths) -> Ended:
    """Search this car to the end."""
    library, workshop, cures = paths.car.library, paths.workshop, paths.cures
    seen: tuple[Seen, ...] = ()
    cured: frozenset[int] = frozenset()
    before: frozenset[str] = frozenset()
    done: tuple[str, ...] = ()
    set_up, minutes, money, wrong, tried, news = TALK, 0.0, 0.0, 0, 0, True
    first, there = False, True
    while True:
        step, spots = paths.step(seen, cured, before, set_up, done, news)
        if step.check is not None:
            if len(done) == MOST_CHECKS:
                break
            check = library.checks[step.check]
            minutes += check_minutes(library, check, set_up) + OVERHEAD
            set_up = set_up_after(check, set_up)
            done = (*done, check.id)
            answers = tuple(drawn.answer(spot, cured) for spot in spots)
            news = any(each.answer != "no" for each in answers)
            seen += answers
            continue
        if step.cure is None:
            break
        cure = cures.all[step.cure]
        tried += 1
        if not any(cause in drawn.present and cause not in cured for cause in cure.causes):
            money += cure.money
            wrong += library.remedies[cure.remedy].parts > 0.0
        minutes += DRIVE_MINUTES
        cured |= frozenset(cure.causes)
        there = drawn.complaint(cured)
        set_up, news = TALK, True
        if not there:
            first = tried == 1
            break
        before = frozenset(finding_key(each.finding, each.position) for each in seen)
    if there:
        money += cures.prices.unsolved
        money += workshop.labour(DANGER_HOURS * 60.0) * len(_dangers(drawn, cured))
    money += workshop.labour(minutes)
    return Ended(minutes, money, len(done), wrong, tried, first, not there)


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
