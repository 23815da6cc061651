"""How good the trees are on cars whose cause is known: ranks, and minutes until the cause stands first.

For every case, three ways: the complaint and the driver's answers alone; everything but the telling
last checks; everything. And a walk in simulation: from the first way, every proposed check is answered
as the confirmed cause would answer it, its likelier way, and the minutes are counted.

Beside the program's own order three plain ones walk the same car, to compare it with:

* `parts`: nothing is looked at; parts are renewed in the order of likelihood until the cause is cured;
* `fixed`: every check that concerns the complaint, from the cheap to the dear, whatever is seen;
* `ratio`: the check that would settle the suspect with the most likelihood for each minute of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from statistics import median

from diagnose.belief.belief import Belief, Car, places
from diagnose.belief.network import finding_key
from diagnose.choice.cost import Cures, check_minutes, possible, set_up_after
from diagnose.choice.outcomes import open_spots
from diagnose.choice.verdict import Verdict
from diagnose.job.case import Case
from diagnose.model.check import TALK, Check
from diagnose.model.library import Library
from diagnose.model.position import meets
from diagnose.model.story import Seen, Story
from diagnose.model.work import due

__all__ = ["BASELINES", "Measured", "Order", "Summary", "Walked", "likely_answer", "measure", "summary"]

#: Checks after which a simulated walk of the program gives up.
MOST_CHECKS = 40

#: The plain orders, by name.
BASELINES = ("parts", "fixed", "ratio")


@dataclass(frozen=True, slots=True)
class Walked:
    """A simulated walk: minutes, checks and changes of set-up until the cause stood first.

    found: it ever did. In the order `parts` the checks are remedies carried out and the minutes
    those of their labour, follow-ups once.
    """

    minutes: float
    checks: int
    set_ups: int
    found: bool


@dataclass(frozen=True, slots=True)
class Measured:
    """One case. Ranks count from 1 and are None where no listed cause was confirmed.

    of: number of faults suspected. outside: P(something not listed) with everything known. baselines: the
    same car walked in the plain orders, empty where no listed cause was confirmed.
    """

    case: str
    complaint: str
    confirmed: tuple[str, ...]
    rank_told: int | None
    rank_before: int | None
    rank_all: int | None
    present_rank_all: int | None
    probability_all: float | None
    outside: float
    of: int
    walk: Walked | None
    missing: tuple[str, ...]
    baselines: Mapping[str, Walked] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Order:
    """How one order of looking did over all cases: found in how many, and medians over those found.

    slower: median over the cases of its minutes over the program's, a case that it did not find
    counted with the minutes at which it gave up; 1 for the program itself.
    """

    found: int
    minutes: float
    checks: float
    set_ups: float
    longest: float
    slower: float


@dataclass(frozen=True, slots=True)
class Summary:
    """All cases together. first and three: ways of knowing (told, before, all) -> cases in which a
    confirmed cause stood first, or among the first three. cases: all of them; listed: those with a
    confirmed cause that the trees list. A cause that no tree has counts as missed.
    """

    cases: int
    listed: int
    first: Mapping[str, int]
    three: Mapping[str, int]
    orders: Mapping[str, Order]


def summary(results: Sequence[Measured]) -> Summary:
    """What the cases come to together."""
    ranks = {
        "told": [each.rank_told for each in results],
        "before": [each.rank_before for each in results],
        "all": [each.rank_all for each in results],
    }
    walks: dict[str, list[tuple[Walked, Walked]]] = {}
    for each in results:
        if each.walk is not None:
            for name, walked in {"own": each.walk, **each.baselines}.items():
                walks.setdefault(name, []).append((walked, each.walk))
    return Summary(
        len(results),
        sum(1 for each in results if each.confirmed),
        {way: sum(1 for rank in of if rank == 1) for way, of in ranks.items()},
        {way: sum(1 for rank in of if rank is not None and rank <= 3) for way, of in ranks.items()},
        {name: _order(pairs) for name, pairs in walks.items()},
    )


def _order(pairs: Sequence[tuple[Walked, Walked]]) -> Order:
    found = [walked for walked, _ in pairs if walked.found]
    if not found:
        return Order(0, 0.0, 0.0, 0.0, 0.0, 0.0)
    # A case solved before anything was looked at says nothing about the order of looking.
    ratios = [walked.minutes / own.minutes for walked, own in pairs if own.minutes > 0.0]
    return Order(
        len(found),
        median(walked.minutes for walked in found),
        median(walked.checks for walked in found),
        median(walked.set_ups for walked in found),
        max(walked.minutes for walked in found),
        median(ratios) if ratios else 1.0,
    )


def measure(library: Library, case: Case, baselines: bool = True) -> Measured:
    """Ranks and simulated walks of one case with a confirmed cause. Raises ValueError without one.

    baselines: walk it in the plain orders as well, which takes a few seconds more.
    """
    if case.confirmed is None:
        raise ValueError("the case has no confirmed cause")
    story = case.story
    car = Car(library, story.vehicle, story.complaints)
    wanted = _wanted(car, case)
    told = [s for s in story.seen if library.checks[s.check].set_up == TALK]
    telling = sum(case.steps[len(case.steps) - case.confirmed.telling :]) if case.confirmed.telling else 0
    before = story.seen[: len(story.seen) - telling]
    beliefs = [Belief(car, Story(story.vehicle, story.heard, tuple(s))) for s in (told, before, story.seen)]
    ranks = [_rank(belief, wanted) for belief in beliefs]
    last = beliefs[-1]
    by_presence = sorted(car.suspects(), key=lambda n: -float(last.present[n]))
    present_rank = min((by_presence.index(n) + 1 for n in wanted if n in by_presence), default=None)
    walks: dict[str, Walked] = {}
    if wanted:
        walker = _Walker(car, case, wanted, tuple(told))
        walks["own"] = walker.walk(walker.proposed, MOST_CHECKS)
        if baselines:
            walks |= {"parts": walker.renew(), "fixed": walker.walk(walker.fixed_order())}
            walks["ratio"] = walker.walk(walker.by_ratio)
    return Measured(
        case.id,
        ", ".join(story.complaints),
        tuple(fault + (f" {place}" if place else "") for fault, place in case.confirmed.causes),
        ranks[0],
        ranks[1],
        ranks[2],
        present_rank,
        max((float(last.present[n]) for n in wanted), default=None),
        last.outside,
        len({car.causes[n].fault for n in car.suspects()}),
        walks.pop("own", None),
        case.confirmed.outside,
        walks,
    )


def _wanted(car: Car, case: Case) -> list[int]:
    assert case.confirmed is not None
    return [
        number
        for number, cause in enumerate(car.causes)
        for fault, place in case.confirmed.causes
        if cause.fault == fault and meets(place, cause.position)
    ]


def _rank(belief: Belief, wanted: Sequence[int]) -> int | None:
    """The best rank of the wanted causes among all suspects.

    A fault counts once, with its likeliest place: left and right of one joint are one suspicion until
    something tells them apart. The same fault at another place counts if that is likelier.
    """
    best: dict[str, float] = {}
    order = belief.order()
    for n in order:
        fault = belief.causes[n].fault
        best[fault] = max(best.get(fault, 0.0), float(belief.to_blame[n]))
    ranks = []
    for number in wanted:
        if number in order:
            mine = float(belief.to_blame[number])
            ahead = [fault for fault, likely in best.items() if likely > mine + 1e-12]
            ranks.append(len(ahead) + 1)
    return min(ranks) if ranks else None


#: What a walk chooses from: the belief, the car's set-up, the checks done -> the next check, or None.
Choose = Callable[[Belief, str, Sequence[str]], Check | None]


class _Walker:
    """Walks one car whose cause is known: `wanted[0]`, taken to be present alone."""

    def __init__(self, car: Car, case: Case, wanted: Sequence[int], told: Sequence[Seen]) -> None:
        self.car = car
        self.case = case
        self.truth = {wanted[0]}
        self.told = tuple(told)
        self.cures = Cures(car, case.workshop)

    def _story(self, seen: Sequence[Seen]) -> Story:
        return Story(self.case.story.vehicle, self.case.story.heard, tuple(seen))

    def walk(self, choose: Choose, most: int | None = None) -> Walked:
        """Do what is chosen, answered as the cause alone would, until the cause stands first."""
        library = self.car.library
        seen = list(self.told)
        done: list[str] = []
        set_up, minutes, set_ups = TALK, 0.0, 0
        belief = Belief(self.car, self._story(seen))
        while True:
            if _rank(belief, list(self.truth)) == 1:
                return Walked(minutes, len(done), set_ups, True)
            if most is not None and len(done) == most:
                break
            check = choose(belief, set_up, done)
            if check is None:
                break
            minutes += check_minutes(library, check, set_up)
            if set_up_after(check, set_up) != set_up:
                set_ups += 1
                set_up = check.set_up
            done.append(check.id)
            spots = open_spots(belief, check)
            seen += [likely_answer(self.car, s.finding, s.position, self.truth) for s in spots]
            belief = Belief(self.car, self._story(seen))
        return Walked(minutes, len(done), set_ups, False)

    def proposed(self, belief: Belief, set_up: str, done: Sequence[str]) -> Check | None:
        """What the program proposes; where it would decide now, the best check that is left."""
        verdict = Verdict(self.car, belief.story, self.case.workshop, set_up, None, done, self.cures)
        chosen = verdict.next or (verdict.proposals[0] if verdict.proposals else None)
        return None if chosen is None else self.car.library.checks[chosen.check]

    def by_ratio(self, belief: Belief, set_up: str, done: Sequence[str]) -> Check | None:
        """The check that settles the suspect with the most likelihood per minute of that check."""
        verdict = Verdict(self.car, belief.story, self.case.workshop, set_up, None, done, self.cures)
        rows = [row for row in verdict.rows if row.settles is not None]
        best = max(rows, key=lambda row: (row.per_minute, -row.number), default=None)
        return None if best is None or best.settles is None else self.car.library.checks[best.settles]

    def fixed_order(self) -> Choose:
        """From the cheap to the dear, set-up and all, over every check that concerns a suspect."""
        library, suspects = self.car.library, set(self.car.suspects())
        checks = [c for c in self.car.checks.values() if possible(c, self.case.workshop)]
        concern = [c for c in checks if self._concerns(c, suspects)]
        concern.sort(key=lambda c: (check_minutes(library, c, TALK), c.id))

        def choose(belief: Belief, set_up: str, done: Sequence[str]) -> Check | None:
            return next((c for c in concern if c.id not in done and open_spots(belief, c)), None)

        return choose

    def _concerns(self, check: Check, suspects: set[int]) -> bool:
        library, nodes = self.car.library, self.car.network.nodes
        for name in check.findings:
            if library.findings[name].repeats in self.car.complaints:
                return True
            for place in places(library, name):
                node = nodes.get(finding_key(name, place))
                if node is not None and any(
                    self.car.network.cause_of(i.source) in suspects for i in node.inputs
                ):
                    return True
        return False

    def renew(self) -> Walked:
        """Nothing looked at: cures carried out in the order of likelihood until the cause is among them."""
        library = self.car.library
        belief = Belief(self.car, self._story(self.told))
        minutes, cured, after = 0.0, set[int](), list[str]()
        for number in belief.order():
            index = int(self.cures.of_cause[number])
            if index in cured:
                continue
            cured.add(index)
            cure = self.cures.all[index]
            remedy = library.remedies[cure.remedy]
            minutes += remedy.hours * 60.0
            after += remedy.follow_ups
            if self.truth & set(cure.causes):
                return Walked(minutes + _afterwards(library, after), len(cured), 0, True)
        return Walked(minutes + _afterwards(library, after), len(cured), 0, False)


def _afterwards(library: Library, names: Iterable[str]) -> float:
    """Minutes of the work that must follow, once for all repairs."""
    return sum(each.minutes for each in due(library, names))


def likely_answer(car: Car, finding_id: str, position: str | None, truth: set[int]) -> Seen:
    """The likelier answer of a finding if only the true cause is present."""
    finding = car.library.findings[finding_id]
    assert position in places(car.library, finding_id)
    if finding.repeats:
        return Seen(finding_id, position, "yes" if finding.repeats in car.complaints else "cannot-tell")
    node = car.network.nodes[finding_key(finding_id, position)]
    chances = [node.start[level] for level in range(1, node.top + 1)]
    for each in node.inputs:
        # The true cause acts: it is what raised the complaint.
        cause = car.network.cause_of(each.source)
        if cause in truth or (cause is None and _feeds(car, str(each.source), truth)):
            chances = [max(a, b) for a, b in zip(chances, each.chances, strict=True)]
    best = max(range(len(chances)), key=lambda n: chances[n])
    if sum(chances) < 0.5:
        return Seen(finding_id, position, "no")
    return Seen(finding_id, position, finding.levels[best])


def _feeds(car: Car, key: str, truth: set[int]) -> bool:
    for name in car.engine.feeds(key):
        for each in car.network.nodes[name].inputs:
            if isinstance(each.source, int) and each.source in truth and each.chances[0] >= 0.3:
                return True
    return False
