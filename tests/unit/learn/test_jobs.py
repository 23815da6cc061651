"""Closed jobs of a journal as jobs to learn from: what is taken, as what, and what is left out and why."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from diagnose.cli import run
from diagnose.commands import learn as command
from diagnose.job import events as e
from diagnose.job.case import read_case
from diagnose.job.journal import Journal
from diagnose.job.state import fold
from diagnose.learn.history import Label
from diagnose.learn.jobs import job_from, job_in, jobs_of
from diagnose.model.story import Seen
from tests.shipped import LIBRARY

CLUNK = "front-clunk-over-bumps"
LINKS = e.Repaired(
    "renew-front-drop-links",
    "front",
    ("front-drop-link-play@front-left", "front-drop-link-play@front-right"),
)
BUSHES = e.Repaired("renew-front-roll-bar-bushes", "car", ("front-roll-bar-bushes-worn@front",))
END = e.Repaired("renew-outer-tie-rod-end", "front-left", ("outer-tie-rod-end-play@front-left",))
CLICK = "hold-the-drop-links-loaded/click-under-the-hand"
CLOSED = e.Closed("cured")


def felt(answer: str, days: float | None = None) -> e.FeltSince:
    return e.FeltSince.from_dict({"event": "felt-since", "complaint": CLUNK, "answer": answer, "days": days})


def taken(tmp_path: Path, *acts: e.Event, heard: str = "yes") -> object:
    """Label and words of a job with these acts; or why it was left out."""
    told = e.ComplaintHeard.from_dict({"event": "complaint-heard", "complaint": CLUNK, "answer": heard})
    with Journal.open(tmp_path / "jobs.db") as journal:
        job = journal.create("demo car", steps=[[told], *([act] for act in acts)])
        found = job_from(LIBRARY, fold(journal.events(job)))
    return found if isinstance(found, str) else (found[0].label, found[1].partition(":")[0].partition(",")[0])


LINK = ("front-drop-link-play", None)
CASES = {
    "cured by one": (
        [END, felt("no"), CLOSED],
        (Label((("outer-tie-rod-end-play", "front-left"),)), "cured"),
    ),
    "a pair": ([LINKS, felt("no"), felt("no", 30.0), CLOSED], (Label((LINK,)), "cured")),
    "not cured": (
        [END, felt("yes"), e.Closed("given up")],
        (Label((("outer-tie-rod-end-play", "front-left"),), cured=False), "not cured"),
    ),
    "back after days": (
        [END, felt("no"), felt("yes", 9.0), e.Closed("given up")],
        (Label((("outer-tie-rod-end-play", "front-left"),), cured=False), "not cured"),
    ),
    "in vain, then cured": (
        [END, felt("yes"), LINKS, felt("no"), CLOSED],
        (Label((LINK,)), "cured"),
    ),
    "faded, then cured": (
        [END, felt("faded"), LINKS, felt("no"), CLOSED],
        (Label((LINK, ("outer-tie-rod-end-play", "front-left"))), "cured"),
    ),
    "several at once": ([LINKS, END, felt("no"), CLOSED], (None, "the cause stayed hidden")),
    "nobody drove": ([END, e.Closed("collected")], (None, "the cause stayed hidden")),
    "no repair": ([e.Concluded(("set-toe",)), e.Closed("concluded")], (None, "the cause stayed hidden")),
    "still open": ([END, felt("no")], "still open"),
}


@pytest.mark.parametrize("name", CASES)
def test_what_a_job_says_of_its_cause(name: str, tmp_path: Path) -> None:
    acts, expected = CASES[name]
    assert taken(tmp_path, *acts) == expected


def test_a_complaint_that_was_not_found_is_left_out(tmp_path: Path) -> None:
    assert taken(tmp_path, CLOSED, heard="no") == "its complaint was not found on the car"


def test_the_answers_of_before_the_repair_are_taken_without_a_name(tmp_path: Path) -> None:
    """What was looked at after the repair is of another car."""
    answer = e.Answered(CLICK, "front-left", "yes")
    again = e.Answered(CLICK, "front-left", "no")
    with Journal.open(tmp_path / "jobs.db") as journal:
        steps = [[e.ComplaintHeard(CLUNK)], [answer], [LINKS], [again], [felt("no")], [CLOSED]]
        journal.create("plate 123", steps=steps)
        journal.create("another", steps=[[e.ComplaintHeard(CLUNK)]])
        found = jobs_of(LIBRARY, journal)
    (job,) = found.jobs
    assert job.seen == (Seen(CLICK, "front-left"),)
    assert job.vehicle.name == ""
    assert found.named == {"job-1": "cured, its cause confirmed"}
    assert found.left_out == {"job-2": "still open"}


def test_a_case_file_with_rounds_is_learned_from_as_its_job() -> None:
    text = (
        f"case: 1\ncomplaints: [{{id: {CLUNK}}}]\nrounds:\n"
        "  - {repairs: [{remedy: renew-front-drop-links}], felt: no}\n"
    )
    assert job_in(LIBRARY, read_case(LIBRARY, text.encode(), "a.yaml")).label == Label((LINK,))
    text += "confirmed: {not-in-trees: [a loose jack]}\n"
    assert job_in(LIBRARY, read_case(LIBRARY, text.encode(), "a.yaml")).label == Label((), outside=True)


@pytest.mark.slow
def test_the_command_says_what_it_took_from_the_store(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    store = tmp_path / "jobs.db"
    with Journal.open(store) as journal:
        for number in range(4):
            acts = [[e.ComplaintHeard(CLUNK)], [LINKS], [felt("no")], *([[CLOSED]] if number else [])]
            journal.create(f"demo {number}", steps=acts)
    assert run(["learn", "--store", str(store)]) == 2
    assert capsys.readouterr().err.splitlines()[1:] == [
        "  3 taken, cured, its cause confirmed: job-2, job-3, job-4",
        "  1 left out, still open: job-1",
    ]
    monkeypatch.setattr(command, "LEAST_JOBS", 3)
    assert run(["learn", "--store", str(store), "--hold-out", "0", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["jobs"] == 3
    assert found["files"] == 0
    assert found["store"]["left_out"] == {"job-1": "still open"}
    assert set(found["store"]["taken"]) == {"job-2", "job-3", "job-4"}
