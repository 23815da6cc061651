"""From the state of a job to the story that a belief rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from diagnose.job import events as e
from diagnose.job.repairs import loose
from diagnose.job.state import Heard as HeardState
from diagnose.job.state import JobState
from diagnose.model.check import BENCH
from diagnose.model.library import Library
from diagnose.model.story import Heard, Round, Seen, Story

__all__ = ["answered_event", "known_story", "story_of"]


def story_of(state: JobState) -> Story:
    """What the belief rests on, from the plain state of a job."""
    rounds = []
    for each in state.rounds:
        ends = dict.fromkeys(end for repair in each.repairs for end in repair.ends)
        cured = tuple(_place(end) for end in ends)
        heard, seen = _heard(each.complaints), _seen(each.answers)
        rounds.append(Round(cured, heard, seen, each.later, each.days, each.km))
    return Story(state.vehicle, _heard(state.complaints), _seen(state.answers), tuple(rounds))


def known_story(library: Library, state: JobState) -> Story:
    """The same without what this library does not know, each finding in the round that it tells of."""
    story = story_of(state)

    def known(heard: Sequence[Heard], seen: Sequence[Seen]) -> tuple[tuple[Heard, ...], list[Seen]]:
        kept = tuple(h for h in heard if h.complaint in library.complaints)
        return kept, [s for s in seen if s.finding in library.findings]

    first, seen = known(story.heard, story.seen)
    looked, rounds, before = [seen], [], 0
    for number, one in enumerate(story.rounds, start=1):
        heard, now = known(one.heard, one.seen)
        if not one.later:
            before = number - 1
        on_bench = [library.checks[each.check].set_up == BENCH for each in now]
        # What lies on the bench was taken off by the last repair: it shows the car as it was before.
        looked[before] += [each for each, taken_off in zip(now, on_bench, strict=True) if taken_off]
        looked.append([each for each, taken_off in zip(now, on_bench, strict=True) if not taken_off])
        cured = tuple(each for each in one.cured if each[0] in library.faults)
        until = loose(library, state, number) if one.later else ()
        after = loose(library, state, number + 1)
        left, undone = (
            tuple(each for each in map(_place, some) if each[0] in library.faults) for some in (until, after)
        )
        rounds.append(replace(one, cured=cured, heard=heard, loose=left, undone=undone))
    rounds = [replace(one, seen=tuple(seen)) for one, seen in zip(rounds, looked[1:], strict=True)]
    return Story(story.vehicle, first, tuple(looked[0]), tuple(rounds))


def answered_event(library: Library, seen: Seen) -> e.Answered:
    """The answer as an event, a number with its unit."""
    reading = library.findings[seen.finding].reading
    unit = reading.unit if reading is not None and seen.reading is not None else ""
    return e.Answered(seen.finding, seen.position, seen.answer, seen.reading, unit, seen.shares)


def _place(end: str) -> tuple[str, str]:
    fault, _, position = end.partition("@")
    return fault, position


def _seen(answers: Sequence[e.Answered]) -> tuple[Seen, ...]:
    return tuple(Seen(a.finding, a.position, a.answer, a.reading, a.shares) for a in answers)


def _heard(complaints: Sequence[HeardState]) -> tuple[Heard, ...]:
    heard: list[Heard] = []
    for complaint in complaints:
        if complaint.driver is not None:
            heard.append(Heard(complaint.complaint, complaint.side, complaint.driver, "driver"))
        if complaint.road_test is not None:
            heard.append(Heard(complaint.complaint, complaint.side, complaint.road_test, "road-test"))
    return tuple(heard)
