"""How good the trees are on cars whose cause is known: ranks, and minutes until the cause stands first.

For every case, three ways: the complaint and the driver's answers alone; everything but the telling
last checks; everything. And a walk in simulation: from the first way, every proposed check is answered
as the confirmed cause would answer it, most likely first, and its minutes are counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.belief.belief import Belief, Car, places
from diagnose.belief.network import finding_key
from diagnose.choice.cost import Cures, set_up_after
from diagnose.choice.lookahead import open_spots
from diagnose.choice.verdict import Verdict
from diagnose.job.case import Case
from diagnose.model.check import TALK
from diagnose.model.library import Library
from diagnose.model.position import meets
from diagnose.model.story import Seen, Story

__all__ = ["Measured", "Walked", "likely_answer", "measure"]

#: Checks after which a simulated walk gives up.
MOST_CHECKS = 40


@dataclass(frozen=True, slots=True)
class Walked:
    """A simulated walk: minutes and checks until the cause stood first (None: it never did)."""

    minutes: float
    checks: int
    set_ups: int
    found: bool


@dataclass(frozen=True, slots=True)
class Measured:
    """One case. Ranks count from 1 and are None where no listed cause was confirmed.

    of: number of suspects. outside: P(something not listed) with everything known.
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


def measure(library: Library, case: Case) -> Measured:
    """Ranks and simulated walk of one case with a confirmed cause. Raises ValueError without one."""
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
        len(car.suspects()),
        _walk(car, case, wanted, tuple(told)) if wanted else None,
        case.confirmed.outside,
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
    """The best rank of the wanted causes; a mate with the very same likelihood does not count before."""
    order = belief.order()
    ranks = []
    for number in wanted:
        if number in order:
            mine = float(belief.to_blame[number])
            ahead = [n for n in order if float(belief.to_blame[n]) > mine + 1e-12]
            ranks.append(len(ahead) + 1)
    return min(ranks) if ranks else None


def _walk(car: Car, case: Case, wanted: Sequence[int], told: tuple[Seen, ...]) -> Walked:
    """Follow the proposals; answer as the first wanted cause alone would, the likelier way."""
    library = car.library
    truth = {wanted[0]}
    cures = Cures(car, case.workshop)
    seen = list(told)
    done: list[str] = []
    set_up, minutes, set_ups = TALK, 0.0, 0
    for count in range(MOST_CHECKS + 1):
        story = Story(case.story.vehicle, case.story.heard, tuple(seen))
        verdict = Verdict(car, story, case.workshop, set_up, None, done, cures)
        belief = verdict.belief
        first = belief.order()[0]
        if first in truth or _rank(belief, list(truth)) == 1:
            return Walked(minutes, count, set_ups, True)
        if not verdict.proposals or count == MOST_CHECKS:
            break
        # Where the program would decide now, go on with the best check that is left.
        chosen = verdict.next or verdict.proposals[0]
        check = library.checks[chosen.check]
        minutes += chosen.minutes
        if set_up_after(check, set_up) != set_up:
            set_ups += 1
            set_up = check.set_up
        done.append(check.id)
        for spot in open_spots(belief, check):
            seen.append(likely_answer(car, spot.finding, spot.position, truth))
    return Walked(minutes, len(done), set_ups, False)


def likely_answer(car: Car, finding_id: str, position: str | None, truth: set[int]) -> Seen:
    """The likelier answer of a finding if only the true cause is present."""
    finding = car.library.findings[finding_id]
    assert position in places(car.library, finding_id)
    if finding.repeats:
        return Seen(finding_id, position, "yes" if finding.repeats in car.complaints else "cannot-tell")
    node = car.network.nodes[finding_key(finding_id, position)]
    chances = [node.start[level] for level in range(1, node.top + 1)]
    for each in node.inputs:
        hit = each.source in truth if isinstance(each.source, int) else _feeds(car, each.source, truth)
        if hit:
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
