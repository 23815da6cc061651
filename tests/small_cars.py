"""Cars so small that the whole search can be reckoned out: the least expected cost, and that of any search.

The libraries are random and seeded; every figure in them is drawn, none is known (demo data). Everything is
counted once more here: every state of the car, every answer, every order of checks and cures.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from diagnose.belief.belief import Car
from diagnose.choice.cost import DRIVE_MINUTES, OVERHEAD, UNSOLVED_HOURS, Cures
from diagnose.model.check import TALK, Check, Finding, Link, SetUp
from diagnose.model.complaint import Complaint, Gate, Leaf
from diagnose.model.library import Library, Remedy
from diagnose.model.part import Fault, Part
from diagnose.model.story import Heard, Seen, Story, Workshop
from diagnose.model.vehicle import Vehicle
from diagnose.trials.walk import Search, State, Step

__all__ = ["Look", "Row", "SmallCar", "library_of", "small_library"]

#: Minutes from talking to each set-up.
ENTER: Mapping[str, float] = {TALK: 0.0, "ground": 2.0, "lift": 6.0, "wheels-off": 14.0}

#: Minutes between two set-ups of the car.
BETWEEN: Mapping[frozenset[str], float] = {
    frozenset({"lift", "wheels-off"}): 5.0,
    frozenset({"ground", "lift"}): 6.0,
    frozenset({"ground", "wheels-off"}): 14.0,
}

#: (from, to) -> minutes; to talk costs nothing.
CHANGES: Mapping[tuple[str, str], float] = {
    (a, b): ENTER[b] if TALK in (a, b) else BETWEEN.get(frozenset({a, b}), 0.0) for a in ENTER for b in ENTER
}

#: Probability below which a state is not followed any more: rounding.
IMPOSSIBLE = 1e-14

#: P(the driver reports the complaint | it is there), and if it is not.
HEARD = (0.95, 0.05)

VEHICLE = Vehicle()


@dataclass(frozen=True, slots=True)
class Row:
    """A fault. cure: id of what ends it. strength: P(it raises the complaint, alone)."""

    cure: str
    chance: float
    strength: float


@dataclass(frozen=True, slots=True)
class Look:
    """A check of one finding. shows: fault -> P(it is seen, if that alone is there)."""

    set_up: str
    minutes: float
    alarm: float
    shows: Mapping[str, float]
    first: bool = False


def library_of(
    cures: Mapping[str, tuple[float, float]],
    faults: Mapping[str, Row],
    checks: Mapping[str, Look],
    leak: float,
) -> Library:
    """One complaint, a noise, that any of the faults may raise; the questions among the checks are put.

    cures: id -> hours of labour, money for parts.
    """
    leaves = tuple(Leaf(each, row.strength) for each, row in faults.items())
    findings = {}
    for each, look in checks.items():
        links = tuple(Link(fault, "fault", (seen,)) for fault, seen in look.shows.items())
        findings[f"{each}/seen"] = Finding(f"{each}/seen", each, "seen", ("yes",), (look.alarm,), links)
    return Library(
        parts={f"part-{each}": Part(f"part-{each}", "a part", "centre") for each in faults},
        faults={
            each: Fault(each, f"part-{each}", "a fault", "centre", row.cure, chance=row.chance)
            for each, row in faults.items()
        },
        checks={
            each: Check(each, each, look.set_up, look.minutes, "look", (f"{each}/seen",), first=look.first)
            for each, look in checks.items()
        },
        findings=findings,
        remedies={each: Remedy(each, each, "car", hours, parts) for each, (hours, parts) in cures.items()},
        set_ups={each: SetUp(each, each, minutes, 0.0) for each, minutes in ENTER.items()},
        changes=CHANGES,
        complaints={
            "noise": Complaint(
                "noise",
                "a noise",
                Gate("any", 1, leaves, leak=leak),
                questions=tuple(each for each, look in checks.items() if look.set_up == TALK),
                heard=HEARD,
            )
        },
        mechanisms={},
        facts={},
        conditions={},
        follow_ups={},
        sources={},
        cautions={},
        tools={},
    )


def small_library(seed: int) -> Library:
    """Three or four faults of one complaint, a cure for each or one for two of them, three or four checks."""
    draw = random.Random(seed)
    names = [f"fault-{n}" for n in range(draw.randint(3, 4))]
    checks = [f"check-{n}" for n in range(draw.randint(3, 4))]
    last = len(names) - 1 if draw.random() < 0.6 else len(names) - 2  # the last two may share a cure
    cures = {}
    for n in range(last + 1):
        hours = round(draw.uniform(0.2, 3.0), 2)
        parts = draw.choice([0.0, 0.0, draw.uniform(10.0, 80.0), draw.uniform(50.0, 500.0)])
        cures[f"cure-{n}"] = (hours, float(round(parts)))
    faults = {
        name: Row(f"cure-{min(n, last)}", 0.02 * 20.0 ** draw.random(), draw.uniform(0.2, 0.95))
        for n, name in enumerate(names)
    }
    looks = {}
    for name in checks:
        set_up = draw.choice(["ground", "lift", "wheels-off"])
        shown = draw.sample(names, draw.choice([1, 1, 2, 3]))
        shows = {each: draw.uniform(0.3, 0.95) for each in shown}
        alarm = draw.uniform(0.01, 0.25)
        looks[name] = Look(set_up, float(round(30.0 ** draw.random())), alarm, shows)
    return library_of(cures, faults, looks, draw.uniform(0.005, 0.05))


Answers = tuple[bool | None, ...]


@dataclass(frozen=True, slots=True)
class Where:
    """Where a search stands.

    answers: of each check whether it showed its finding, None: not done. cured: cures carried out, after
    each of which the complaint was still there. news: the last step brought some, as in `State`.
    """

    answers: Answers
    cured: frozenset[int]
    set_up: str
    news: bool = True

    def shown(self, check: int, seen: bool, set_up: str) -> Where:
        """After this check has shown its finding, or has not."""
        answers = (*self.answers[:check], seen, *self.answers[check + 1 :])
        return Where(answers, self.cured, set_up, seen)

    def failed(self, cure: int) -> Where:
        """After this cure, with the complaint still there; the car has been driven."""
        return Where(self.answers, self.cured | {cure}, TALK)


class SmallCar:
    """One car of a small library whose driver names its complaint, and what searching it may cost.

    Every answer counts as one about the car as it came in, even if the check is done after a cure. The
    cost is the labour of checks, changes and drives, the cures of sound parts, and handing on.
    """

    def __init__(self, library: Library) -> None:
        self.library = library
        self.workshop = Workshop()
        self.car = Car(library, VEHICLE, {"noise": None})
        self.cures = Cures(self.car, self.workshop)
        self.checks = tuple(library.checks.values())
        # What the driver tells is of the faults that act, which is not what is counted here.
        assert all(check.set_up != TALK for check in self.checks)
        self._after: dict[frozenset[int], Car] = {}
        self._minute = self.workshop.labour_rate / 60.0
        self._drive = DRIVE_MINUTES * self._minute
        self._unsolved = UNSOLVED_HOURS * 60.0 * self._minute
        remedies = [library.remedies[cure.remedy] for cure in self.cures.all]
        self._money = [each.hours * self.workshop.labour_rate + each.parts for each in remedies]
        self._count([each.id for each in remedies])

    def _count(self, remedies: Sequence[str]) -> None:
        """P(these answers, the complaint still there after these cures [, nothing of this cure there])."""
        faults = list(self.library.faults.values())
        top = self.library.complaints["noise"].top
        strengths = [leaf.strength for leaf in top.branches if isinstance(leaf, Leaf)]
        # A fault is absent, there without raising the complaint, or there and raising it.
        every = list(itertools.product((0, 1, 2), repeat=len(faults)))
        leak = np.array([False] * len(every) + [True] * len(every))
        states = np.array(every * 2)
        p = np.where(leak, top.leak, 1.0 - top.leak)
        for n, (fault, strength) in enumerate(zip(faults, strengths, strict=True)):
            assert fault.chance is not None
            chances = (1.0 - fault.chance, fault.chance * (1.0 - strength), fault.chance * strength)
            p = p * np.array(chances)[states[:, n]]
        present, acts = states > 0, states == 2
        p = p * np.where(leak | acts.any(axis=1), *HEARD)
        p = p / p.sum()
        shows = []
        for check in self.checks:
            finding = self.library.findings[check.findings[0]]
            unseen = np.full(len(p), 1.0 - finding.false_alarm[0])
            for link in finding.links:
                there = present[:, list(self.library.faults).index(link.target)]
                unseen = unseen * np.where(there, 1.0 - link.detection[0], 1.0)
            shows.append({False: unseen, True: 1.0 - unseen})
        ends = [[n for n, fault in enumerate(faults) if fault.remedy == remedy] for remedy in remedies]
        self._p: dict[tuple[Answers, frozenset[int]], float] = {}
        self._still: dict[tuple[Answers, frozenset[int]], float] = {}
        self._sound: dict[tuple[Answers, frozenset[int], int], float] = {}
        for answers in itertools.product((None, False, True), repeat=len(self.checks)):
            told = p
            for answer, row in zip(answers, shows, strict=True):
                told = told if answer is None else told * row[answer]
            for cured in _sets(len(remedies)):
                left = [n for n in range(len(faults)) if not any(n in ends[each] for each in cured)]
                still = leak | acts[:, left].any(axis=1)
                # Before the first cure nobody has driven the car: the driver may have been mistaken.
                here = told * still if cured else told
                self._p[answers, cured] = float(here.sum())
                self._still[answers, cured] = float((told * still).sum())
                for cure in set(range(len(remedies))) - cured:
                    sound = ~present[:, ends[cure]].any(axis=1)
                    self._sound[answers, cured, cure] = float((here * sound).sum())

    def least(self) -> float:
        """Expected money of the best search there is, with cures and checks in any order."""

        @cache
        def onwards(answers: Answers, cured: frozenset[int], set_up: str) -> float:
            where = Where(answers, cured, set_up)
            if self._impossible(where):
                return 0.0
            return min(
                self._spent(where, step)
                + sum(onwards(each.answers, each.cured, each.set_up) for each in self._next(where, step))
                for step in self._steps(where)
            )

        start = self._start()
        return onwards(start.answers, start.cured, start.set_up)

    def expected(self, search: Search) -> float:
        """Expected money of searching in this way."""

        @cache
        def onwards(where: Where) -> float:
            if self._impossible(where):
                return 0.0
            step = search(self._state(where))
            return self._spent(where, step) + sum(onwards(each) for each in self._next(where, step))

        return onwards(self._start())

    def _impossible(self, where: Where) -> bool:
        return self._p[where.answers, where.cured] < IMPOSSIBLE

    def _steps(self, where: Where) -> Iterator[Step]:
        """Everything that may be done next."""
        yield Step()
        for cure in range(len(self.cures.all)):
            if cure not in where.cured:
                yield Step(cure=cure)
        for check, answer in zip(self.checks, where.answers, strict=True):
            if answer is None:
                yield Step(check=check.id)

    def _spent(self, where: Where, step: Step) -> float:
        """Expected money of this step alone, times the probability of coming here."""
        here = self._p[where.answers, where.cured]
        if step.check is not None:
            check = self.library.checks[step.check]
            minutes = CHANGES[where.set_up, check.set_up] + check.minutes + OVERHEAD
            return minutes * self._minute * here
        if step.cure is not None:
            sound = self._sound[where.answers, where.cured, step.cure]
            return self._money[step.cure] * sound + self._drive * here
        return self._unsolved * self._still[where.answers, where.cured]

    def _next(self, where: Where, step: Step) -> Iterator[Where]:
        """Where this step may lead, but for an end of the search."""
        if step.check is not None:
            number = [check.id for check in self.checks].index(step.check)
            for seen in (False, True):
                yield where.shown(number, seen, self.checks[number].set_up)
        elif step.cure is not None:
            yield where.failed(step.cure)

    def _start(self) -> Where:
        return Where((None,) * len(self.checks), frozenset(), TALK)

    def _state(self, where: Where) -> State:
        if where.cured not in self._after:
            causes = [cause for cure in where.cured for cause in self.cures.all[cure].causes]
            nodes = self.car.plain.network.nodes
            findings = [key for key, node in nodes.items() if not node.counts]
            self._after[where.cured] = self.car.after(causes, findings) if causes else self.car
        seen = tuple(
            Seen(check.findings[0], None, "yes" if answer else "no")
            for check, answer in zip(self.checks, where.answers, strict=True)
            if answer is not None
        )
        return State(
            self._after[where.cured],
            Story(VEHICLE, (Heard("noise"),), seen),
            self.cures,
            self.workshop,
            where.set_up,
            tuple(each.check for each in seen),
            where.news,
        )


def _sets(count: int) -> Iterator[frozenset[int]]:
    """Every set of so many things."""
    for size in range(count + 1):
        for some in itertools.combinations(range(count), size):
            yield frozenset(some)
