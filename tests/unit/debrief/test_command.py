"""`diagnose debrief`: exit codes, JSON, files that are kept and files that are left alone."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from diagnose.job import events as e
from diagnose.job.journal import Journal
from diagnose.job.state import JobState, fold
from tests.drives import AFTER, DEMO, LIBRARY, drive_in
from tests.scripted import Tell, telling

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture
def tell(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Tell:
    """Runs `diagnose debrief` in this process: (exit code, output, errors)."""
    # The trees are read once for all tests of this file.
    monkeypatch.setattr("diagnose.commands.given.library", lambda options: LIBRARY)
    return telling("debrief", capsys, monkeypatch)


@pytest.fixture
def before(tmp_path: Path) -> Path:
    path = tmp_path / "before.yaml"
    path.write_text(DEMO, encoding="utf-8")
    return path


@pytest.fixture
def after(tmp_path: Path) -> Path:
    path = tmp_path / "after.yaml"
    path.write_text(AFTER, encoding="utf-8")
    return path


def test_a_drive_is_shown_alone_and_beside_others(tell: Tell, before: Path, after: Path) -> None:
    code, out, err = tell(after)
    assert (code, err) == (0, "")
    assert out.isascii()
    assert "Since the drive before" not in out
    code, out, _ = tell(after, "--before", before, "--reference", before)
    assert code == 0
    assert out.index("Not driven:") < out.index("Since the drive before") < out.index("Beside the car known")


def test_it_reads_standard_input(tell: Tell) -> None:
    assert "8 a little" in tell("-", text=AFTER)[1]


def test_json_tells_all_and_its_page_names_every_key(tell: Tell, before: Path, after: Path) -> None:
    code, out, _ = tell(after, "--before", before, "--json")
    assert code == 0
    found = json.loads(out)
    assert found["format"] == "handling-diagnose/debrief/1"
    assert {"complaint": "wander", "side": None, "answer": "probably"} in found["heard"]
    assert found["reference"] is None
    (better,) = (one for one in found["before"] if one["complaint"] == "wander")
    assert (better["change"], better["difference"], better["verdict"]) == ("better", 4.0, "clear")
    assert better["was"] == {"rating": 4.0, "told": "rated"}
    (away,) = (one for one in found["before"] if one["change"] == "not-driven")
    assert (away["is"], away["share"], away["verdict"], away["missing_after"]) == (
        None,
        None,
        None,
        ["rough"],
    )
    text = (ROOT / "docs" / "json.md").read_text("utf-8")
    part = text[text.index("debrief/1`\n") :].partition("\n## ")[0]
    keys = set(found) | set(found["heard"][0]) | set(better) | set(better["was"])
    assert {key for key in keys - {"format"} if not re.search(rf"[`.\]]{key}`", part)} == set()


def test_all_problems_of_a_file_are_told(tell: Tell, tmp_path: Path) -> None:
    path = tmp_path / "bad.yaml"
    path.write_text("debrief: 1\nroad: icy\nlegs: [{leg: moon}]", encoding="utf-8")
    code, out, err = tell(path)
    assert (code, out) == (2, "")
    assert f"{path}:2:7: 'road' must be one of" in err and f"{path}:3:14: 'leg' must be" in err
    assert err.endswith("2 problems\n")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "name a debrief, or tell a drive with --type: `diagnose debrief --help` shows both"),
        (("--blank", "x.yaml"), "--blank prints an empty form: give no file and no other option with it"),
        (("--blank", "--json"), "--blank prints a form for people: leave out --json"),
        (("x.yaml", "--save", "y"), "--save keeps what was typed: use it with --type"),
        (("--type", "x.yaml"), "with --type the drive is told anew: `--save x.yaml` keeps it there"),
        (("--type", "--json"), "--json does not go with --type: save the drive, then ask for its --json"),
        (("-", "--before", "-"), "standard input holds one thing only: give the others as files"),
        (("--type", "--before", "-"), "standard input holds one thing only: give the others as files"),
        (
            ("no-such.yaml",),
            "no-such.yaml: cannot be read (No such file or directory); give a file, or - for standard input",
        ),
    ],
)
def test_what_does_not_go_together_is_said(tell: Tell, arguments: tuple[str, ...], said: str) -> None:
    assert tell(*arguments) == (2, "", f"diagnose: {said}\n")


def test_the_form_is_printed(tell: Tell) -> None:
    code, out, _ = tell("--blank")
    assert code == 0
    assert out.startswith("DEBRIEF OF A DRIVE\n") and len(out.splitlines()) <= 60


def test_a_typed_drive_is_kept_and_gone_on_with(tell: Tell, tmp_path: Path, before: Path) -> None:
    path = tmp_path / "new.yaml"
    code, out, _ = tell("--type", "--save", path, "--before", before, text="wander\n7\n\n\nq\n")
    assert code == 0
    assert f"Kept in {path}" in out and "better      4        7" in out
    assert drive_in(path.read_text("utf-8")).kinds == {"straight"}
    assert path.read_text("utf-8").startswith("# Written by `diagnose debrief --type`")
    code, out, _ = tell("--type", "--save", path, text="\n")
    assert "1/8 undulating road" in out
    assert drive_in(path.read_text("utf-8")).kinds == {"straight", "undulating"}


def test_without_a_file_the_drive_is_printed_to_copy(tell: Tell) -> None:
    _, out, _ = tell("--type", text="wander\n7\n\n\nq\n")
    assert "Not kept, for want of --save FILE." in out
    assert "        complaint: wander\n        rating: 7\n" in out
    assert "as a file" not in tell("--type", text="q\n")[1]


def test_a_file_of_somebody_else_is_left_alone(tell: Tell, before: Path) -> None:
    code, _, err = tell("--type", "--save", before, text="q\n")
    assert code == 2
    assert err == f"diagnose: {before}: is there already and was not written by --type; name a new file\n"
    assert before.read_text("utf-8") == DEMO


def test_a_file_that_cannot_be_written_is_told_before_anything_is_typed(tell: Tell, tmp_path: Path) -> None:
    code, out, err = tell("--type", "--save", tmp_path / "no" / "x.yaml", text="wander\n")
    assert code == 2
    assert "cannot be written (No such file or directory); name another file" in err
    assert "1/9" not in out


# In a job ----------------------------------------------------------------------------------------------


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A store with one job, of a demo car that wanders."""
    store = tmp_path / "jobs.db"
    with Journal.open(store) as journal:
        facts = [e.VehicleFact("front", "strut"), e.VehicleFact("rear", "twist-beam")]
        journal.create("demo hatchback", steps=[[e.ComplaintHeard("wander")], facts])
    return store


def state(store: Path) -> JobState:
    with Journal.open(store) as journal:
        return fold(journal.events("job-1"))


@pytest.mark.slow
def test_the_drive_before_in_a_job_is_the_one_to_compare_with(
    tell: Tell, job: Path, before: Path, after: Path
) -> None:
    code, out, _ = tell(before, "--job", "last", "--store", job)
    assert code == 0
    assert "Since the drive before" not in out
    code, out, _ = tell(after, "--job", "last", "--store", job)
    assert "Since the drive before (3 May, morning)" in out
    assert [rounds for rounds, _ in state(job).drives] == [0, 0]
    # Another one can be named: it is kept, for the time when the job has none.
    code, out, _ = tell(after, "--before", after, "--job", "last", "--store", job)
    assert "Since the drive before (4 May, morning)" in out
    assert set(state(job).references) == {"same-car-before"}


def test_a_drive_of_a_good_car_is_kept_and_stands_beside_the_next(
    tell: Tell, job: Path, before: Path, after: Path
) -> None:
    code, out, err = tell("--reference", before, "--job", "last", "--store", job)
    assert (code, err) == (0, "")
    assert out.startswith("A car known to be good, to stand beside the drives of job-1:\ndemo hatchback")
    assert state(job).drives == ()
    code, out, _ = tell(after, "--job", "last", "--store", job, "--json")
    found = json.loads(out)
    assert {one["change"] for one in found["reference"]} == {"better", "new", "not-driven"}
    assert found["before"] is None
    assert found["repairs"]["job"] == "job-1"
    code, out, _ = tell("--reference", after, "--job", "last", "--store", job, "--json")
    found = json.loads(out)
    assert set(found) == {"format", "job", "references"}
    assert found["references"]["good-car"]["when"] == "4 May, morning"


@pytest.mark.slow
def test_a_drive_some_time_after_a_repair_begins_a_time_of_its_own(
    tell: Tell, job: Path, before: Path, after: Path
) -> None:
    tell(before, "--job", "last", "--store", job)
    with Journal.open(job) as journal:
        journal.append("job-1", e.Repaired("set-front-toe", "car", ("front-toe-wrong@front",)))
        journal.append("job-1", e.FeltSince("wander", "no"))
        journal.append("job-1", e.Closed("cured"))
    code, _, err = tell(after, "--job", "last", "--store", job, "--after-days", "14", "--after-km", "900")
    assert (code, err) == (0, "")
    _, later = state(job).rounds
    assert (later.days, later.km, later.complaints[0].road_test) == (14.0, 900.0, "probably")
    assert state(job).drives[-1][0] == 2
    assert state(job).closed is None


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--after-days", "3"], "--after-days and --after-km go with --job and a drive"),
        (["--job", "last", "--after-km", "3"], "nothing was repaired yet"),
        (["--job", "last", "--after-km", "-3"], "is not a time after a repair"),
    ],
)
def test_a_time_needs_a_repair(tell: Tell, job: Path, after: Path, arguments: list[str], says: str) -> None:
    code, out, err = tell(after, *arguments, "--store", job)
    assert (code, out) == (2, "")
    assert says in err
    assert state(job).drives == ()
