"""What a job proves: the car before its first repair and now, and what made the difference.

Everything is computed from the journal: readings and wheel angles taken twice, drives told twice, and the
belief over all rounds, of which docs/method.md, section 7, says what each figure means.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from diagnose.angles.judge import Judgement, judged
from diagnose.angles.sheet import Spot
from diagnose.debrief.compare import Change, compare
from diagnose.debrief.drive import Drive
from diagnose.job.drives import drive_before_repair, drives_of, last_repair, references_of
from diagnose.job.repairs import Standing, standings
from diagnose.model.story import Seen, Story

if TYPE_CHECKING:
    from diagnose.job.session import Session

__all__ = [
    "CURED",
    "AnglePair",
    "Comparison",
    "Proof",
    "Share",
    "comparisons",
    "proof_of",
]

#: From this chance that the complaint is gone on it counts as cured (estimate).
CURED = 0.9


@dataclass(frozen=True, slots=True)
class AnglePair:
    """One wheel angle, measured before the work and after it."""

    spot: Spot
    before: Judgement
    after: Judgement


@dataclass(frozen=True, slots=True)
class Comparison:
    """The last drive beside another one. of: `before`, or `good-car` for a car known to be good."""

    of: str
    other: Drive
    latest: Drive
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class Share:
    """How all cars with this story divide; the three sum to 1.

    owed: a complaint was there as the car was brought, and none is now: the repairs ended it. never: none was
    there to begin with (told in error), or it has gone by itself. left: one is there now, felt or not. holds:
    P(nothing that was fitted fails before it has settled). rounds: for each round, P(it ended the complaint:
    there before it, gone after it).
    """

    owed: float
    never: float
    left: float
    holds: float
    rounds: tuple[float, ...]

    @property
    def for_good(self) -> float:
        """P(the repairs ended it, and what was fitted holds)."""
        return self.owed * self.holds


@dataclass(frozen=True)
class Proof:
    """A job from its complaint to where it stands.

    readings: the same finding at the same place (None: the whole car), as it was first answered and as it was
    last answered after a repair; angles: those out or near a limit in one of the two measurements.
    """

    standings: tuple[Standing, ...]
    share: Share
    readings: tuple[tuple[Seen, Seen], ...]
    angles: tuple[AnglePair, ...]
    drives: tuple[Comparison, ...]

    @property
    def last(self) -> Standing:
        """Where it stands now."""
        return self.standings[-1]


def proof_of(session: Session) -> Proof:
    """What a job proves. Raises ImpossibleAnswers as its belief does."""
    belief, rounds = session.verdict.belief, standings(session)
    count = len(rounds) - 1
    owed = belief.ended(0, count)
    each = tuple(belief.ended(number - 1, number) for number in range(1, count + 1))
    left = belief.there
    share = Share(owed, max(1.0 - left - owed, 0.0), left, belief.car.holds, each)
    return Proof(tuple(rounds), share, _readings(session.story), _angles(session), comparisons(session))


def _readings(story: Story) -> tuple[tuple[Seen, Seen], ...]:
    """What was looked at both before a repair and after it: the last of before, and the latest."""
    first: dict[tuple[str, str | None], Seen] = {}
    pairs: dict[tuple[str, str | None], tuple[Seen, Seen]] = {}
    for seen in story.seen:
        first[seen.finding, seen.position] = seen
    for one in story.rounds:
        for seen in one.seen:
            key = (seen.finding, seen.position)
            if key in first:
                pairs[key] = (first[key], seen)
        for seen in one.seen:
            first.setdefault((seen.finding, seen.position), seen)
    return tuple(pairs.values())


def _angles(session: Session) -> tuple[AnglePair, ...]:
    sheets = session.sheets
    if sheets.before is None or sheets.after is None:
        return ()
    before = {one.spot: one for one in judged(sheets.before)}
    return tuple(
        AnglePair(one.spot, before[one.spot], one)
        for one in judged(sheets.after)
        if one.spot in before
        and before[one.spot].value is not None
        and one.value is not None
        and {"out", "near"} & {one.verdict, before[one.spot].verdict}
    )


def comparisons(session: Session) -> tuple[Comparison, ...]:
    """The job's last drive beside the last one before its last repair, and beside a car known to be good.

    Without an earlier drive in the job, the drive of the same car in good order before, if one is kept,
    stands in its place. Empty where no drive was told since the last repair: an older one shows nothing of
    the car now.
    """
    library, references = session.library, references_of(session.library, session.state)
    told = drives_of(library, session.state)
    if not told or told[-1][0] < last_repair(session.state):
        return ()
    latest = told[-1][1]
    other = drive_before_repair(library, session.state) or references.get("same-car-before")
    found = []
    if other is not None:
        found.append(Comparison("before", other, latest, compare(library, other, latest)))
    if "good-car" in references:
        good = references["good-car"]
        beside = compare(library, good, latest, other_car=True)
        found.append(Comparison("good-car", good, latest, beside))
    return tuple(found)
