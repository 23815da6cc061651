"""A story that no state of the car explains is said to be impossible at every entrance, and is never NaN.

No shipped tree has a zero in it, so an answer is given one here: seen to be there, it is as impossible as its
opposite.
"""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from unittest import mock

import pytest

from diagnose.belief import evidence
from diagnose.belief.evidence import Weights, finding_weights, heard_weights
from diagnose.cli import run
from diagnose.job import events as e
from diagnose.job.journal import Journal
from diagnose.job.state import fold
from diagnose.model.check import Finding
from diagnose.model.library import Library
from diagnose.model.story import Heard, Seen
from tests.drives import DEMO as DRIVE
from tests.sheets import DEMO as SHEET

SAID = "these answers cannot all be true under the trees: take one back"

HEAD = "case: 1\nvehicle: {name: demo, km: 150000, years: 11}\ncomplaints: [{id: wander}]\n"
ANSWER = "answers: [{check: fingertips-along-the-chain, findings: {step-at-rod-end: {front-left: yes}}}]\n"
OTHER = "answers: [{check: fingertips-along-the-chain, findings: {step-at-rod-end: {front-left: no}}}]\n"
ROUNDS = """\
rounds:
  - repairs: [{remedy: renew-outer-tie-rod-end@front-left}]
    felt: yes
"""


CONFIRMED = """\
confirmed:
  causes: [{fault: outer-tie-rod-end-play, position: front-left}]
  telling: 1
  source: invented (demo)
  confidence: high
"""


@pytest.fixture
def impossible(monkeypatch: pytest.MonkeyPatch) -> None:
    """The finding above, seen; and the wander felt again on a road test."""

    def weights(finding: Finding, seen: Seen, levels: int) -> Weights | None:
        found = finding_weights(finding, seen, levels)
        hit = found is not None and (finding.id.endswith("/step-at-rod-end") and seen.answer == "yes")
        hit = hit or (finding.reading is not None and "toe" in finding.id)
        return (0.0,) * (levels + 1) if hit else found

    def heard(library: Library, told: Heard) -> tuple[str, Weights] | None:
        return (told.complaint, (0.0, 0.0)) if told.by == "road-test" else heard_weights(library, told)

    monkeypatch.setattr(evidence, "finding_weights", weights)
    monkeypatch.setattr(evidence, "heard_weights", heard)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    for name, text in (
        ("case", HEAD + ANSWER),
        ("fine", HEAD + OTHER),
        ("rounds", HEAD + ROUNDS),
        ("answers", "case: 1\n" + ANSWER),
        ("drive", DRIVE),
        ("sheet", SHEET),
    ):
        (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
    monkeypatch.setenv("DIAGNOSE_STORE", str(tmp_path / "jobs.sqlite"))
    with Journal.open(tmp_path / "jobs.sqlite") as journal:
        journal.create("demo", steps=[[e.ComplaintHeard("wander")]])
    yield tmp_path


def told(command: str, typed: str = "") -> tuple[int, str, str]:
    out, errors = io.StringIO(), io.StringIO()
    told_ = io.StringIO(typed)
    with (
        mock.patch.dict(os.environ, {"COLUMNS": "80"}),
        mock.patch.multiple(sys, stdin=told_, stdout=out, stderr=errors),
    ):
        code = run(command.split())
    shown = out.getvalue() + errors.getvalue()
    assert "Traceback" not in shown
    assert "nan" not in shown.lower().replace("nan-", "").split()
    return code, out.getvalue(), errors.getvalue()


@pytest.mark.usefixtures("impossible")
@pytest.mark.parametrize(
    "command",
    [
        pytest.param("rank {}/case.yaml", marks=pytest.mark.long),
        "rank {}/case.yaml --json",
        pytest.param("rank {}/rounds.yaml", marks=pytest.mark.long),
        pytest.param("plan {}/case.yaml", marks=pytest.mark.long),
        pytest.param("sheet {}/case.yaml --to {}/sheet.html", marks=pytest.mark.long),
        pytest.param("trees draw wander --case {}/case.yaml", marks=pytest.mark.long),
        "jobs answer job-1 {}/answers.yaml",
        pytest.param("angles {}/sheet.yaml --complaint wander", marks=pytest.mark.long),
        pytest.param("angles {}/sheet.yaml --job job-1", marks=pytest.mark.long),
        pytest.param("debrief {}/drive.yaml --job job-1", marks=pytest.mark.long),
        pytest.param(
            "repair --job last renew-outer-tie-rod-end@front-left --felt no", marks=pytest.mark.long
        ),
    ],
)
def test_an_impossible_story_is_said_to_be_so(folder: Path, command: str) -> None:
    code, _, errors = told(command.format(folder, folder))
    assert (code, SAID in errors) == (2, True), errors
    # Whatever was kept of it can be taken back, and all is as before.
    code, out, _ = told("resume job-1", "u\n" * 4)
    assert code == 0
    with Journal.open(folder / "jobs.sqlite") as journal:
        state = fold(journal.events("job-1"))
    assert (len(state.complaints), state.rounds) == (1, ()) or "There is nothing to take back" in out


@pytest.mark.long
@pytest.mark.usefixtures("impossible")
def test_a_job_of_one_can_be_opened_and_taken_back(folder: Path) -> None:
    assert told(f"jobs import {folder}/case.yaml")[0] == 0
    code, _, errors = told("jobs show job-2")
    assert (code, SAID in errors) == (2, True)
    code, out, _ = told("resume job-2", "u\nq\n")
    assert (code, SAID in " ".join(out.split())) == (0, True)
    assert told("jobs show job-2")[0] == 0


@pytest.mark.usefixtures("impossible")
def test_at_a_question_it_is_refused_and_asked_again(folder: Path) -> None:
    typed = "\n" * 8 + "o fingertips-along-the-chain\n1l\nq\n"
    code, out, _ = told("resume job-1", typed)
    assert (code, "That cannot be together with the other answers; nothing was kept." in out) == (0, True)
    with Journal.open(folder / "jobs.sqlite") as journal:
        assert not any(isinstance(entry.event, e.Answered) for entry in journal.events("job-1"))


@pytest.mark.usefixtures("impossible")
def test_among_many_cases_the_one_is_named(folder: Path) -> None:
    for name in ("fine", "case"):
        path = folder / f"{name}.yaml"
        path.write_text(path.read_text("utf-8") + CONFIRMED, "utf-8")
    code, _, errors = told(f"measure {folder}/fine.yaml {folder}/case.yaml --quick")
    assert (code, errors.startswith(f"diagnose: {folder}/case.yaml: {SAID}")) == (2, True)
