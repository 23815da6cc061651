"""Repairs of a job: which cure is meant, what it obliges to, what each round left of the complaint."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from diagnose.belief.belief import Belief, Car
from diagnose.choice.cost import Cure, Cures
from diagnose.errors import InputError
from diagnose.job import events as e
from diagnose.job.state import JobState
from diagnose.library.nearest import suggest
from diagnose.model.library import FollowUp, Library
from diagnose.model.work import covered, due, mends

if TYPE_CHECKING:
    from diagnose.job.session import Session

__all__ = [
    "AT_ONCE",
    "SETTLES",
    "Standing",
    "ends_of",
    "followed_by",
    "loose",
    "meant",
    "meant_for",
    "obligations",
    "standings",
    "whole",
]

#: What is done at the repair itself where its event says so: field -> follow-ups.
AT_ONCE = {
    "angles_set": ("front-toe", "four-wheel-alignment"),
    "one_use": ("new-locking-nuts",),
    "at_height": ("torque-at-ride-height",),
}

#: Work without which what was fitted may come loose (follow-ups by id; common practice).
SETTLES = frozenset({"torque-at-ride-height", "new-locking-nuts", "wheel-retorque"})


def meant(cures: Cures, typed: str) -> Cure:
    """The cure that `remedy@place` or `remedy` means; the latter where the car has only one such place.

    Raises InputError naming the remedies or places there are.
    """
    remedy, _, place = typed.partition("@")
    some = [cure for cure in cures.all if cure.remedy == remedy]
    if not some:
        names = sorted({cure.remedy for cure in cures.all})
        mend = suggest(remedy, names, "`diagnose trees remedies` lists them")
        raise InputError(f"no remedy {remedy!r} on this car: {mend}")
    found = [cure for cure in some if cure.place == place] if place else some
    if len(found) == 1:
        return found[0]
    places = ", ".join(f"{remedy}@{cure.place}" for cure in some)
    raise InputError(f"{typed!r} does not say which: write {places}")


def ends_of(car: Car, cure: Cure) -> tuple[str, ...]:
    """What a cure puts right, as the journal names it: its own faults, and what its parts bring along."""
    mended = set(mends(car.library, car.library.remedies[cure.remedy], cure.place))
    numbers = dict.fromkeys(cure.causes)
    numbers |= {n: None for n, each in enumerate(car.causes) if (each.fault, each.position) in mended}
    return tuple(f"{car.causes[n].fault}@{car.causes[n].position}" for n in numbers)


def whole(car: Car, repair: e.Repaired) -> e.Repaired:
    """The repair with what the work done at once with it puts right in passing, as an alignment a toe."""
    table = car.library.follow_ups
    names = [each.what for each in followed_by(car.library, repair)]
    mended = {remedy for name in {*names, *covered(table, names)} for remedy in table[name].mends}
    passing = (
        f"{each.fault}@{each.position}"
        for each in car.causes
        if car.library.faults[each.fault].remedy in mended
    )
    return replace(repair, ends=tuple(dict.fromkeys((*repair.ends, *passing))))


def meant_for(library: Library, repair: e.Repaired) -> tuple[str, ...]:
    """What it puts right (`fault@position`) for which the remedy is meant, not what comes along with it; all
    of it where the trees know none of these faults any more."""
    own = tuple(
        end
        for end in repair.ends
        if (fault := library.faults.get(end.partition("@")[0])) is not None and fault.remedy == repair.remedy
    )
    return own or repair.ends


def followed_by(library: Library, repair: e.Repaired) -> list[e.FollowedUp]:
    """The work that was done together with the repair, as it says."""
    remedy = library.remedies.get(repair.remedy)
    owed = remedy.follow_ups if remedy is not None else ()
    done = [name for field, names in AT_ONCE.items() if getattr(repair, field) for name in names]
    return [e.FollowedUp(name) for name in owed if name in done]


def obligations(library: Library, state: JobState) -> list[FollowUp]:
    """Work that the repairs so far oblige to and that is not done since, in the order in which it came up.

    What covers other work is done for both: after a whole alignment no toe is owed.
    """
    done: dict[str, int] = {}
    for name, numbers in state.followed_up.items():
        for each in {name, *covered(library.follow_ups, [name])}:
            done[each] = max(done.get(each, 0), *numbers)
    owed = []
    for number, one in enumerate(state.rounds, start=1):
        for repair in one.repairs:
            remedy = library.remedies.get(repair.remedy)
            owed += [
                name
                for name in (remedy.follow_ups if remedy is not None else ())
                if done.get(name, 0) < number
            ]
    return list(due(library, owed))


def loose(library: Library, state: JobState, number: int) -> tuple[str, ...]:
    """What repairs fitted, as `fault@position`, whose settling work was not told as done before this round
    (from 1)."""
    found: dict[str, bool] = {}
    for at, one in enumerate(state.rounds[: number - 1], start=1):
        for repair in one.repairs:
            remedy = library.remedies.get(repair.remedy)
            owed = [name for name in (remedy.follow_ups if remedy is not None else ()) if name in SETTLES]
            undone = [
                name
                for name in owed
                if not any(at <= done < number for done in state.followed_up.get(name, ()))
            ]
            found |= dict.fromkeys(repair.ends, bool(undone))
    return tuple(end for end, undone in found.items() if undone)


@dataclass(frozen=True, slots=True)
class Standing:
    """Where the job stood after a round. number 0: as the car was brought.

    repairs: of that round. there: P(a complaint is there | all that was told up to then); driven: whether
    anybody has driven since. spent: price of parts and labour so far, as told; None where nothing was told.
    later, days, km: no repair, but the same car so long after the last one. answers: the words of those who
    drove, complaint by complaint, the technician's before the driver's. parts, hours: told so far, 0 if not.
    """

    number: int
    repairs: tuple[e.Repaired, ...]
    there: float
    driven: bool
    spent: float | None
    later: bool = False
    days: float | None = None
    km: float | None = None
    answers: tuple[tuple[str, str], ...] = ()
    parts: float = 0.0
    hours: float = 0.0


def standings(session: Session) -> list[Standing]:
    """The job round by round, each by what was known at its end."""
    story, state = session.story, session.state
    rate = session.verdict.workshop.labour_rate
    found, parts, hours, told = [], 0.0, 0.0, False
    car = Car(session.library, story.vehicle, story.complaints)
    for number in range(len(story.rounds) + 1):
        upto = replace(story, rounds=story.rounds[:number])
        belief = Belief(car.through(upto) if number else car, upto)
        repairs = state.rounds[number - 1].repairs if number else ()
        for each in repairs:
            if each.price is not None or each.hours is not None:
                parts, hours, told = parts + (each.price or 0.0), hours + (each.hours or 0.0), True
        spent = parts + rate * hours if told else None
        here = Standing(number, repairs, belief.there, True, spent, parts=parts, hours=hours)
        if number:
            one = story.rounds[number - 1]
            words = tuple(
                (each.complaint, each.road_test or each.driver or "")
                for each in state.rounds[number - 1].complaints
            )
            here = replace(
                here, driven=bool(one.heard), later=one.later, days=one.days, km=one.km, answers=words
            )
        found.append(here)
    return found
