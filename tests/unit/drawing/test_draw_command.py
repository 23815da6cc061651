"""`diagnose trees draw`: its forms, whose figures are laid over it, what it writes and what it refuses."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest

from diagnose.drawing.svg import MADE_BY
from tests.scripted import Tell, telling
from tests.shipped import LIBRARY

CASE = """case: 1
vehicle: {name: demo saloon, km: 187000, years: 12, front: strut}
complaints: [{id: wander}]
answers:
  - check: fingertips-along-the-chain
    findings: {step-at-rod-end: {front-left: yes}}
    others: no
"""


@pytest.fixture
def tell(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Tell:
    """Runs `diagnose trees draw` in this process: (exit code, output, errors)."""
    monkeypatch.setenv("DIAGNOSE_STORE", str(tmp_path / "jobs.sqlite"))
    return telling("trees draw", capsys, monkeypatch)


@pytest.fixture
def case(tmp_path: Path) -> Path:
    path = tmp_path / "case.yaml"
    path.write_text(CASE, "utf-8")
    return path


def test_in_the_terminal_it_reads_in_80_columns_and_in_ascii(tell: Tell, case: Path) -> None:
    for arguments in (["wander"], ["--case", case]):
        code, out, err = tell(*arguments)
        assert (code, err) == (0, "")
        assert out.isascii()
        assert max(map(len, out.splitlines())) <= 80
    lines = [line.strip("|` -") for line in out.splitlines()]
    assert lines[0] == "Of 100 cars such as demo saloon."
    assert lines[2].startswith("there ")
    told = "outer tie rod end: play in the ball socket, each front corner"
    row = next(n for n, line in enumerate(lines) if line.startswith(told))
    assert lines[row + 1].startswith("to blame ") and lines[row + 1].endswith(" front left")
    assert int(lines[row + 1].split()[2].rstrip(",")) > 30


@pytest.mark.slow
def test_a_job_is_drawn_as_its_case(tell: Tell, case: Path, tmp_path: Path) -> None:
    from diagnose.job.case import read_case
    from diagnose.job.journal import Journal
    from diagnose.job.session import Session
    from diagnose.job.steps import steps_of
    from diagnose.model.story import Workshop

    with Journal.open(tmp_path / "jobs.sqlite") as journal:
        told = read_case(LIBRARY, CASE.encode(), "demo")
        job = Session.start(LIBRARY, journal, "demo", Workshop(), steps_of(LIBRARY, told)).job
    by_case = tell("--case", case)[1].splitlines()
    by_job = tell("--job", "last")[1].splitlines()
    assert by_job[0] == f"Of 100 cars such as the car of {job}."
    assert by_job[1:] == by_case[1:]


@pytest.mark.slow
def test_a_picture_is_kept_and_only_our_own_is_written_over(tell: Tell, tmp_path: Path) -> None:
    file = tmp_path / "wander.svg"
    code, out, err = tell("wander", "--svg", file)
    assert (code, out, err) == (0, f"Kept in {file}\n", "")
    kept = file.read_text("utf-8")
    assert ElementTree.fromstring(kept).tag.endswith("svg") and MADE_BY in kept
    assert tell("wander", "--format", "svg")[1] == kept
    assert tell("shimmy", "--svg", file)[0] == 0
    assert file.read_text("utf-8") != kept
    file.write_text("<svg>somebody's own</svg>", "utf-8")
    code, out, err = tell("wander", "--svg", file)
    assert (code, out) == (2, "")
    assert f"{file}: is there already and was not drawn by --svg; name a new file" in err
    assert file.read_text("utf-8") == "<svg>somebody's own</svg>"


@pytest.mark.slow
def test_the_other_forms(tell: Tell, case: Path) -> None:
    assert tell("wander", "--format", "dot")[1].startswith("digraph tree {\n")
    assert "penwidth" in tell("--case", case, "--format", "dot")[1]
    assert tell("wander", "--format", "mermaid")[1].startswith("flowchart RL\n")
    assert "Of 100 cars such as demo saloon." in tell("--case", case, "--format", "svg")[1]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "name a complaint, or a car with --case or --job: `diagnose trees` lists them"),
        (["wander", "--svg", "x.svg", "--format", "dot"], "--svg FILE keeps the picture, --format prints it"),
        (["shimmy", "--case", "CASE"], "case.yaml does not tell of shimmy: it tells of wander"),
        (
            ["wander", "--svg", "/nowhere/x.svg"],
            "/nowhere/x.svg: cannot be written (No such file or directory)",
        ),
        (["wander", "--job", "job-9"], "job-9"),
    ],
)
def test_what_is_refused(tell: Tell, case: Path, arguments: list[str], message: str) -> None:
    code, out, err = tell(*(case if each == "CASE" else each for each in arguments))
    assert (code, out) == (2, "")
    assert message in err
