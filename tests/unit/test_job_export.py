"""A job as text: how it reads, that it comes back, and what is said about a text that is wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from diagnose.errors import JournalError
from diagnose.job.events import (
    Answered,
    CheckDone,
    Closed,
    ComplaintHeard,
    ConditionKnown,
    Distance,
    Noted,
    Undone,
    VehicleFact,
)
from diagnose.job.export import export, import_text
from diagnose.job.journal import Journal

START = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)

TEXT = """\
# One job from complaint to cure: its events, oldest first. Events of one step belong together.
journal: 1
name: blue van
events:
- step: 1
  time: 2026-05-04T09:30:00.000Z
  event: opened
  name: demo car
  library-digest: '12'
  workshop:
    currency: EUR
    labour-rate: 90
    cannot:
    - rig
- step: 2
  time: 2026-05-04T09:31:00.000Z
  event: vehicle-fact
  fact: front
  value: strut
- step: 2
  time: 2026-05-04T09:31:00.000Z
  event: condition-known
  condition: salt-climate
  holds: false
- step: 2
  time: 2026-05-04T09:31:00.000Z
  event: distance
  km: 187000
  years: 12.5
- step: 3
  time: 2026-05-04T09:32:00.000Z
  event: complaint-heard
  complaint: wander
  words: 'all over the road: on motorways'
- step: 4
  time: 2026-05-04T09:33:00.000Z
  event: answered
  finding: rock/outer-end-moves
  position: front-left
  answer: no
- step: 4
  time: 2026-05-04T09:33:00.000Z
  event: answered
  finding: rock/free-play
  position: null
  answer: yes
  reading: 9
  unit: mm
- step: 4
  time: 2026-05-04T09:33:00.000Z
  event: check-done
  check: rock
- step: 5
  time: 2026-05-04T09:34:00.000Z
  event: noted
  text: |-
    bellows dry

    clamp new
- step: 6
  time: 2026-05-04T09:35:00.000Z
  event: undone
- step: 7
  time: 2026-05-04T09:36:00.000Z
  event: closed
  outcome: cured
"""


class Ticking:
    """A clock that a minute passes on at each look."""

    def __init__(self) -> None:
        self.time = START - timedelta(minutes=1)

    def __call__(self) -> datetime:
        self.time += timedelta(minutes=1)
        return self.time


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    with Journal.open(tmp_path / "jobs.sqlite", clock=Ticking()) as journal:
        yield journal


@pytest.fixture
def job(journal: Journal) -> str:
    workshop = {"currency": "EUR", "labour-rate": 90, "cannot": ["rig"]}
    job = journal.create("demo car", library_digest="12", workshop=workshop)
    journal.append(
        job, VehicleFact("front", "strut"), ConditionKnown("salt-climate", False), Distance(187000, 12.5)
    )
    journal.append(job, ComplaintHeard("wander", words="all over the road: on motorways"))
    journal.append(
        job,
        Answered("rock/outer-end-moves", "front-left", "no"),
        Answered("rock/free-play", None, "yes", 9, "mm"),
        CheckDone("rock"),
    )
    journal.append(job, Noted("bellows dry\n\nclamp new"))
    journal.append(job, Undone())
    journal.append(job, Closed("cured"))
    journal.rename(job, "blue van")
    return job


def test_how_a_job_reads(journal: Journal, job: str) -> None:
    assert export(journal, job) == TEXT


def test_a_job_comes_back_as_a_new_one(journal: Journal, job: str) -> None:
    before = journal.events(job)
    again = import_text(journal, TEXT, "job.yaml")
    assert again == "job-2"
    assert journal.events(again) == journal.events(job) == before
    assert [row.name for row in journal.jobs()] == ["blue van", "blue van"]
    assert export(journal, again) == TEXT


def test_an_import_goes_on_as_any_other_job(journal: Journal) -> None:
    job = import_text(journal, TEXT, "job.yaml")
    assert journal.append(job, Noted("x")) == 8


def test_a_hand_written_text_may_leave_quotes_out_and_use_other_zones(journal: Journal) -> None:
    text = """
{journal: 1, name: 205, events: [
  {step: 1, time: 2026-05-04T11:30:00+02:00, event: opened, name: true},
  {step: 2, time: 2026-05-04 09:31Z, event: noted, text: 0x1F},
]}"""
    job = import_text(journal, text, "job.yaml")
    entries = journal.events(job)
    assert journal.name(job) == "205"
    assert [entry.time for entry in entries] == [START, START + timedelta(minutes=1)]
    assert entries[0].event.to_dict() == {"event": "opened", "name": "true"}
    assert entries[1].event == Noted("0x1F")


def test_an_export_of_no_job(journal: Journal) -> None:
    with pytest.raises(JournalError, match=r"there is no job 'job-7'\n    mend: no job has been opened yet"):
        export(journal, "job-7")


def complaint_about(journal: Journal, text: str) -> str:
    """What is said about this text; nothing is written."""
    with pytest.raises(JournalError) as caught:
        import_text(journal, text, "job.yaml")
    assert journal.jobs() == []
    return str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "  km: 187000",
            "  kn: 187000",
            "job.yaml:28:3: event 'distance' has no field 'kn'\n"
            "    28 |   kn: 187000\n"
            "       |   ^\n"
            "    mend: its fields: km, years",
        ),
        (
            "  km: 187000",
            "  km: about 187000",
            "job.yaml:28:7: 'km' of event 'distance' is 'about 187000'\n"
            "    28 |   km: about 187000\n"
            "       |       ^\n"
            "    mend: it must be a number",
        ),
        (
            "  position: front-left",
            "  position: front-lift",
            "job.yaml:39:13: 'position' of event 'answered' is 'front-lift'\n"
            "    39 |   position: front-lift\n"
            "       |             ^\n"
            "    mend: it must be one of front-left, front-right, rear-left, rear-right, front, rear, left, "
            "right, centre",
        ),
        (
            "  check: rock\n",
            "",
            "job.yaml:49:3: event 'check-done' lacks its field 'check'\n"
            "    49 | - step: 4\n"
            "       |   ^\n"
            "    mend: add 'check'",
        ),
        (
            "- step: 3\n",
            "- step: 8\n",
            "job.yaml:30:3: step 8 follows step 2\n"
            "    30 | - step: 8\n"
            "       |   ^\n"
            "    mend: number the steps one by one; events of one step share its number\n"
            "job.yaml:35:3: step 4 follows step 8\n"
            "    35 | - step: 4\n"
            "       |   ^\n"
            "    mend: number the steps one by one; events of one step share its number",
        ),
        (
            "- step: 3\n",
            "- step: three\n",
            "job.yaml:30:9: step 'three' is not a whole number\n"
            "    30 | - step: three\n"
            "       |         ^\n"
            "    mend: number the steps from 1",
        ),
        (
            "time: 2026-05-04T09:32:00.000Z",
            "time: yesterday",
            "job.yaml:31:9: not a time: Invalid isoformat string: 'yesterday'\n"
            "    31 |   time: yesterday\n"
            "       |         ^\n"
            "    mend: write it as 2026-05-04T09:30:00Z",
        ),
        (
            "  complaint: wander\n",
            "  complaint: wander\n  complaint: pulls\n",
            "job.yaml:34:3: key 'complaint' is given twice\n"
            "    34 |   complaint: pulls\n"
            "       |   ^\n"
            "    mend: keep one of them",
        ),
        (
            "  event: undone\n",
            "",
            "job.yaml:60:3: the event has no 'event'\n"
            "    60 | - step: 6\n"
            "       |   ^\n"
            "    mend: add 'event'",
        ),
        (
            "journal: 1",
            "journal: 2",
            "job.yaml:2:10: the job's format is 2; this program reads format 1\n"
            "    2 | journal: 2\n"
            "      |          ^\n"
            "    mend: for a higher number, update the program",
        ),
        (
            "name: blue van",
            "name: blue van\nid: job-1",
            "job.yaml:4:1: unknown key 'id'\n"
            "    4 | id: job-1\n"
            "      | ^\n"
            "    mend: the keys are journal, name, events",
        ),
        (
            "name: blue van\n",
            "",
            "job.yaml:2:1: key 'name' is missing\n    2 | journal: 1\n      | ^\n    mend: add 'name'",
        ),
        (
            "name: blue van",
            "name: null",
            "job.yaml:3:7: 'name' is None\n    3 | name: null\n      |       ^\n    mend: it must be text",
        ),
        (
            "    labour-rate: 90",
            "    labour-rate: !!timestamp 90",
            "job.yaml:12:18: unknown tag 'tag:yaml.org,2002:timestamp'\n"
            "    12 |     labour-rate: !!timestamp 90\n"
            "       |                  ^\n"
            "    mend: leave the tag out",
        ),
        (
            "    labour-rate: 90",
            "    labour-rate: [90",
            "job.yaml:13:11: not readable as YAML: while parsing a flow sequence: did not find expected "
            "',' or ']'\n"
            "    13 |     cannot:\n"
            "       |           ^\n"
            "    mend: check indents, colons and quotes there",
        ),
        (
            "clamp new",
            "clamp\x07new",
            "job.yaml:59:10: the character '\\x07' cannot stand in a text file\n    mend: take it out",
        ),
    ],
)
def test_what_is_wrong_is_shown_where_it_stands(journal: Journal, old: str, new: str, said: str) -> None:
    assert TEXT.count(old) == 1
    assert complaint_about(journal, TEXT.replace(old, new)) == said


def test_all_problems_come_at_once_in_order(journal: Journal) -> None:
    text = TEXT.replace("km: 187000", "km: -1").replace("event: undone", "event: undo")
    said = complaint_about(journal, text).splitlines()
    assert [line for line in said if line.startswith("job.yaml")] == [
        "job.yaml:28:7: 'km' of event 'distance' is -1.0",
        "job.yaml:62:10: unknown event 'undo'",
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "job.yaml:1:1: the file is empty"),
        ("# nothing\n", "job.yaml:1:1: the file is empty"),
        ("wander", "job.yaml:1:1: a job must be keys with values"),
        ("journal: 1\nname: a\nevents: none", "job.yaml:3:9: events must be a list"),
        ("journal: 1\nname: a\nevents: []", "job.yaml:3:9: the job holds no events"),
        ("journal: 1\nname: a\nevents: [x]", "job.yaml:3:10: an event must be keys with values"),
        ("journal: 1\nname: a\nevents: [{[x]: 1}]", "job.yaml:3:11: a key must be one word"),
        (TEXT + "---\na: b\n", "job.yaml:67:1: not readable as YAML: expected a single document"),
        ("journal: " + "[" * 31, "job.yaml:1:39: nested more than 30 deep"),
        ("[" * 100_000, "job.yaml:1:1001: not readable as YAML: while increasing flow level"),
        ("- " * 100_000, "job.yaml:1:61: nested more than 30 deep"),
        ("journal: \ud800", "job.yaml:1:10: the character '\\ud800' cannot stand in a text file"),
        ("x" * 5_000_001, "job.yaml: the file is too large for a job"),
        (f"journal: {'9' * 5000}\nname: a\nevents: []", "job.yaml:1:10: not a usable number"),
    ],
)
def test_a_text_that_is_no_job(journal: Journal, text: str, said: str) -> None:
    assert complaint_about(journal, text).startswith(said)


def test_aliases_cannot_make_a_short_text_grow(journal: Journal) -> None:
    doubled = "\n".join(f"    a{n}: &a{n} [*a{n - 1}, *a{n - 1}]" for n in range(1, 60))
    text = TEXT.replace("    currency: EUR", f"    a0: &a0 [x]\n{doubled}")
    assert "a value is used again by an alias" in complaint_about(journal, text)


@pytest.mark.parametrize("change", [lambda text: text.replace("\n", "\r\n"), lambda text: "\ufeff" + text])
def test_other_line_ends_and_a_byte_order_mark_do_no_harm(
    journal: Journal, change: Callable[[str], str]
) -> None:
    job = import_text(journal, change(TEXT), "job.yaml")
    assert export(journal, job) == TEXT
    with pytest.raises(JournalError) as caught:
        import_text(journal, change(TEXT.replace("fact: front", "fact: \u202efront")), "job.yaml")
    assert str(caught.value) == (
        "job.yaml:18:9: 'fact' of event 'vehicle-fact' is '\\u202efront'\n"
        "    18 |   fact: \ufffdfront\n"
        "       |         ^\n"
        "    mend: it must be plain hyphenated words"
    )


def test_lists_of_ids_are_text_as_well(journal: Journal) -> None:
    text = TEXT.replace("event: closed\n  outcome: cured", "event: concluded\n  remedies:\n  - set-toe")
    job = import_text(journal, text, "job.yaml")
    assert journal.events(job)[-1].event.to_dict() == {"event": "concluded", "remedies": ["set-toe"]}


@pytest.mark.parametrize(
    ("event", "said", "mend"),
    [
        ("distance, km: 4.0e+6", "'km' of event 'distance' is 4e+06", "write 0 to 3,000,000"),
        ("distance, years: 1.0e+300", "'years' of event 'distance' is 1e+300", "write 0 to 120"),
        ("planned, works: [a@car], cash: [5, 1.0e+12], gone: [1]", "'cash'", "write 0 to 1,000,000,000"),
    ],
)
def test_a_number_that_no_car_has_is_refused(journal: Journal, event: str, said: str, mend: str) -> None:
    """They were taken, and then every screen of that job ended in a traceback."""
    time = "time: 2026-05-04T09:30:00Z"
    head = f"journal: 1\nname: demo\nevents:\n- {{step: 1, {time}, event: opened, name: demo}}\n"
    with pytest.raises(JournalError) as caught:
        import_text(journal, f"{head}- {{step: 2, {time}, event: {event}}}\n", "job.yaml")
    assert str(caught.value).startswith("job.yaml:5:")
    assert said in str(caught.value)
    assert str(caught.value).endswith(f"mend: {mend}")
    assert journal.jobs() == []


@pytest.mark.parametrize(
    ("workshop", "said"),
    [
        ("{labour-rate: 1.0e+300}", "the labour rate is 1e+300\n"),
        ("{labour-rate: ninety}", "the labour rate is 'ninety'\n"),
        ("{currency: [EUR]}", "the currency is \"['EUR']\"\n"),
        ("{cannot: rig}", "'cannot' is no list of words\n"),
    ],
)
def test_a_workshop_that_cannot_be_is_refused(journal: Journal, workshop: str, said: str) -> None:
    text = (
        "journal: 1\nname: demo\nevents:\n"
        f"- {{step: 1, time: 2026-05-04T09:30:00Z, event: opened, name: demo, workshop: {workshop}}}\n"
    )
    with pytest.raises(JournalError) as caught:
        import_text(journal, text, "job.yaml")
    assert said in str(caught.value)
