"""What holds for every job: plain values, store and text bring it back whole; undo is as if it never was."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.job import events as e
from diagnose.job.events import ANSWERS, Entry, Event
from diagnose.job.export import export, import_text
from diagnose.job.journal import Journal, parse_time, print_time
from diagnose.job.state import fold, live
from diagnose.model.position import POSITIONS

#: Words that mean something to YAML, and letters that end a line somewhere.
AWKWARD = [
    *["no", "null", "~", "1.5", "-0", "1e5", "0x1F", "2026-05-04", "<<", "=", "@", "'", '"', "|", "%"],
    *["[", "{}", "&a", "*a", "!a"],
    *["- a", "a: b", "a #b", "a\n b\n", "\r", "\n\n", " a", "a ", "\ufeff", "\x85", "\u2028"],
]
text = st.text(st.characters(exclude_categories=["Cs"]), max_size=40) | st.sampled_from(AWKWARD)
said = text.filter(lambda words: bool(words.strip()))
line = said.filter(lambda words: len(words.splitlines()) == 1)
# Few different words, so that answers replace each other and checks are turned to again.
word = st.sampled_from(["rock", "spin", "12", "no", "null", "a-1"])
number = st.floats(allow_nan=False, allow_infinity=False)
# Within the bounds of what is imported (job/bounds.py), to their very ends.
amount, reading = st.floats(0.0, 1e9), st.floats(-1e9, 1e9)
km, years = st.floats(0.0, 3e6), st.floats(0.0, 120.0)
position = st.none() | st.sampled_from(POSITIONS)
plain = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | number | text,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(text, inner, max_size=3),
    max_leaves=6,
)

opened = st.builds(e.Opened, line, text, text, st.dictionaries(text, plain, max_size=3))
acts: st.SearchStrategy[Event] = st.one_of(
    st.builds(e.VehicleFact, word, st.none() | word),
    st.builds(e.Distance, st.none() | km, st.none() | years),
    st.builds(e.ConditionKnown, word, st.none() | st.booleans()),
    st.builds(e.PartRenewed, word, position, st.none() | km, st.none() | years),
    st.builds(
        e.ComplaintHeard,
        word,
        st.sampled_from([None, "left", "right"]),
        text,
        st.sampled_from(ANSWERS),
        st.sampled_from(["driver", "road-test"]),
    ),
    st.builds(
        e.Answered,
        st.builds("{}/{}".format, word, word),
        position,
        st.sampled_from(ANSWERS) | line,
        st.none() | reading,
        text,
        st.lists(st.floats(0.0, 1.0), max_size=3).map(tuple),
    ),
    st.builds(e.Turned, word),
    st.builds(e.CheckDone, word),
    st.builds(e.Skipped, word),
    st.builds(e.Cannot, word),
    st.builds(e.Noted, said),
    st.builds(e.AnglesRead, said),
    st.builds(e.DriveTold, said),
    st.builds(e.ReferenceTold, said, st.sampled_from(["good-car", "same-car-before"])),
    st.builds(
        e.FeltSince,
        word,
        st.sampled_from([*ANSWERS, "faded"]),
        st.none() | st.floats(0.1, 900.0),
        st.none() | st.floats(0.1, 9000.0),
        text,
        st.sampled_from(["driver", "road-test"]),
    ),
    st.builds(
        e.Repaired,
        word,
        line,
        st.lists(line, max_size=2).map(tuple),
        text,
        st.none() | amount,
        st.none() | amount,
        *(st.none() | st.booleans() for _ in range(3)),
    ),
    st.builds(e.FollowedUp, word),
    st.builds(
        e.Planned, st.tuples(word), st.tuples(st.floats(0, 1e6)), st.tuples(st.floats(0, 1)), st.floats(0, 1)
    ),
    st.builds(e.Concluded, st.lists(word, max_size=3).map(tuple)),
    st.builds(e.Unfit, said),
    st.builds(e.Closed, said),
)
undone = st.builds(e.Undone, st.integers(1, 4))
steps = st.lists(st.lists(acts, min_size=1, max_size=3) | undone.map(lambda undo: [undo]), max_size=8)
times = st.datetimes(datetime(1970, 1, 2), datetime(2100, 1, 1)).map(lambda time: time.replace(tzinfo=UTC))


def numbered(first: Event, told: Sequence[Sequence[Event]]) -> list[Entry]:
    """Entries of a job that `first` opens."""
    now = datetime(2026, 5, 4, tzinfo=UTC)
    return [Entry(n, now, event) for n, step in enumerate([[first], *told], 1) for event in step]


@given(opened | acts | undone)
def test_an_event_comes_back_from_json(event: Event) -> None:
    assert Event.from_dict(json.loads(json.dumps(event.to_dict(), allow_nan=False))) == event


@pytest.mark.slow
def test_the_strategies_make_every_kind() -> None:
    made = {"opened", "undone"}

    @settings(max_examples=500, database=None, derandomize=True)
    @given(acts)
    def look(event: Event) -> None:
        made.add(event.kind)

    look()
    assert made == set(e.KINDS)


@given(opened, steps)
def test_the_state_after_undoing_is_that_of_the_shortened_list(
    first: e.Opened, told: list[list[Event]]
) -> None:
    short: list[list[Event]] = []
    for step in told:
        if isinstance(step[0], e.Undone):
            for _ in range(step[0].steps):
                if short:
                    short.pop()
        else:
            short.append(step)
    state = fold(numbered(first, told))
    assert state == fold(numbered(first, short))
    assert state.steps == len(short)
    assert [entry.event for entry in live(numbered(first, told))] == [
        first,
        *(event for step in short for event in step),
    ]


@given(opened, steps, st.lists(acts, min_size=1, max_size=3))
def test_a_step_and_its_undoing_change_nothing(
    first: e.Opened, told: list[list[Event]], step: list[Event]
) -> None:
    assert fold(numbered(first, [*told, step, [e.Undone()]])) == fold(numbered(first, told))


@given(opened, steps)
def test_answers_are_the_last_ones_of_a_plain_search(first: e.Opened, told: list[list[Event]]) -> None:
    entries = numbered(first, told)
    standing = [entry.event for entry in live(entries)]
    # What is answered after the first repair is of the car as it was then, round by round.
    brought = next((n for n, event in enumerate(standing) if isinstance(event, e.Repaired)), len(standing))
    state = fold(entries)
    assert list(state.answers) == last_answers(standing[:brought])
    since = [answer for one in state.rounds for answer in one.answers]
    assert all(answer in since for answer in last_answers(standing[brought:]))


def last_answers(events: Sequence[Event]) -> list[e.Answered]:
    """The last answer to each finding at each place."""
    answers = [event for event in events if isinstance(event, e.Answered)]
    return [
        answer
        for index, answer in enumerate(answers)
        if not any(
            (later.finding, later.position) == (answer.finding, answer.position)
            for later in answers[index + 1 :]
        )
    ]


@given(times)
def test_a_printed_time_reads_back_to_the_millisecond(time: datetime) -> None:
    back = parse_time(print_time(time))
    assert 0 <= (time - back).total_seconds() < 0.001
    assert parse_time(print_time(back)) == back


@pytest.mark.slow
@settings(deadline=None, max_examples=60)  # each example writes to the disk
@given(opened, steps, line, st.lists(times, min_size=1, max_size=10))
def test_store_and_text_bring_a_job_back_whole(
    first: e.Opened, told: list[list[Event]], name: str, ticks: list[datetime]
) -> None:
    index = iter(range(1000))
    with (
        tempfile.TemporaryDirectory() as folder,
        Journal.open(Path(folder) / "jobs.sqlite", clock=lambda: ticks[next(index) % len(ticks)]) as journal,
    ):
        job = journal.create(
            first.name,
            library_digest=first.library_digest,
            program_version=first.program_version,
            workshop=first.workshop,
        )
        for step in told:
            journal.append(job, *step)
        journal.rename(job, name)
        entries = journal.events(job)
        assert [(entry.step, entry.event) for entry in entries] == [
            (entry.step, entry.event) for entry in numbered(first, told)
        ]
        written = export(journal, job)
        again = import_text(journal, written, "job.yaml")
        assert again != job
        assert journal.events(again) == journal.events(job) == entries
        assert export(journal, again) == written
        assert fold(journal.events(again)) == fold(entries)


@pytest.mark.slow
@settings(deadline=None, max_examples=300)
@given(st.lists(said, min_size=1, max_size=5), st.dictionaries(text, plain, max_size=4))
def test_no_text_is_changed_on_its_way_through_an_export(
    notes: list[str], workshop: dict[str, object]
) -> None:
    entries = numbered(e.Opened("demo", workshop=workshop), [[e.Noted(note)] for note in notes])
    written = export(_Shelf(entries), "job-1")  # type: ignore[arg-type]
    shelf = _Shelf([])
    import_text(shelf, written, "job.yaml")  # type: ignore[arg-type]
    assert shelf.entries == entries
    assert repr(shelf.entries) == repr(entries)  # 1 and 1.0, 0.0 and -0.0 are equal but not the same


class _Shelf:
    """Holds one job in memory: all that export and import_text ask of a journal."""

    def __init__(self, entries: list[Entry]) -> None:
        self.entries = entries

    def events(self, job: str) -> list[Entry]:
        return self.entries

    def name(self, job: str) -> str:
        return "demo"

    def adopt(self, name: str, entries: list[Entry]) -> str:
        self.entries = entries
        return "job-1"
