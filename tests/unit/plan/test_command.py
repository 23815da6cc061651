"""`diagnose plan`: pages, JSON, errors, and a plan kept in a job and held against what happened."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from diagnose.job import events as e
from diagnose.job.journal import Journal
from diagnose.job.session import Session
from tests.scripted import Tell, telling
from tests.shipped import LIBRARY

ROOT = Path(__file__).resolve().parents[3]

#: Demo: an invented estate.
ESTATE = """\
case: 1
id: demo-estate
vehicle: {name: demo estate, km: 214000, years: 14}
workshop: {currency: EUR, labour-rate: 85}
complaints:
  - {id: floaty-rear}
"""


@pytest.fixture
def tell(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Tell:
    """Runs `diagnose plan` in this process: (exit code, output, errors)."""
    monkeypatch.setattr("diagnose.commands.given.library", lambda options: LIBRARY)
    monkeypatch.setenv("DIAGNOSE_STORE", str(tmp_path / "jobs.sqlite"))
    return telling("plan", capsys, monkeypatch)


@pytest.fixture
def estate(tmp_path: Path) -> Path:
    path = tmp_path / "estate.yaml"
    path.write_text(ESTATE, encoding="utf-8")
    return path


def job_in(path: Path) -> str:
    """A job with a complaint in that store; its id."""
    with Journal.open(path) as journal:
        job = journal.create("demo", workshop={"currency": "EUR", "labour-rate": 85})
        session = Session(LIBRARY, journal, job)
        session.do(e.Distance(214_000, 14), e.ComplaintHeard("floaty-rear"))
        return job


@pytest.mark.slow
def test_the_page_says_what_first_and_what_it_costs(tell: Tell, estate: Path) -> None:
    code, out, err = tell(estate)
    assert (code, err) == (0, "")
    assert out.isascii()
    assert all(len(line) <= 80 for line in out.splitlines())
    page = " ".join(out.split())
    for words in (
        "Look first:",
        "Stage 1",
        "renew both rear dampers",
        "both sides: a pair wears and works together",
        "Costs 3",
        "The complaint is gone after it in",
        "After each stage: drive on: undulating road",
        "gone, of 100 such jobs",
        "Surest:",
        "licensed practice come first",
    ):
        assert words in page, words


@pytest.mark.slow
def test_what_if_is_an_option(tell: Tell, estate: Path) -> None:
    assert "Wanted: front axle only" in tell(estate, "--only", "front")[1]
    assert "rear dampers" not in tell(estate, "--only", "front")[1]
    own = tell(estate, "--own-labour", "--json")[1]
    assert json.loads(own)["stages"][0]["labour"] == 0.0
    dear = json.loads(tell(estate, "--price", "renew-rear-dampers=2000", "--json")[1])
    assert "renew-rear-dampers@rear" not in [w["work"] for s in dear["stages"] for w in s["works"]]
    assert "0.0 h" in tell("-", text=ESTATE.replace("workshop: {currency: EUR, labour-rate: 85}\n", ""))[1]


@pytest.mark.slow
def test_the_plan_of_a_case_file_is_that_of_the_job_it_opens(
    tell: Tell, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "looked-at.yaml"
    path.write_text(f"{ESTATE}answers:\n  - {{check: rear-damper-look, others: no}}\n", encoding="utf-8")
    assert telling("jobs", capsys, monkeypatch)("import", path)[0] == 0
    page = tell(path)[1]
    # The car stands where the damper was looked at: what is looked at next costs no change from the road.
    assert "Look first:" in page
    assert page.partition("Look first:")[2] == tell("--job", "job-1")[1].partition("Look first:")[2]


@pytest.mark.slow
def test_json_tells_all_and_its_page_names_every_key(tell: Tell, estate: Path) -> None:
    code, out, _ = tell(estate, "--json", "--budget", "900")
    assert code == 0
    found = json.loads(out)
    assert found["format"] == "handling-diagnose/plan/1"
    assert found["budget"] == 900.0
    assert found["stages"][0]["cash"] == pytest.approx(
        found["stages"][0]["labour"] + found["stages"][0]["parts"], abs=0.02
    )
    page = (ROOT / "docs" / "json.md").read_text(encoding="utf-8")
    section = page.partition("## `handling-diagnose/plan/1`")[2].partition("\n## ")[0]
    named = set(re.findall(r"`(?:stages\[\]\.)?([a-z_]+)(?:\[\])?`", section))
    keys = set(found) | set(found["stages"][0]) | set(found["stages"][0]["works"][0]) | set(found["spread"])
    assert keys - {"format"} <= named, sorted(keys - {"format"} - named)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--price", "renew-rear-dampr=3"], "there is no remedy 'renew-rear-dampr': did you mean"),
        (["--price", "renew-rear-dampers=x"], "'x' is not an amount: write a number, such as 120"),
        (["--keep"], "--keep goes with a job"),
    ],
)
def test_what_cannot_be_is_said_with_its_mend(
    tell: Tell, estate: Path, arguments: list[str], words: str
) -> None:
    code, out, err = tell(estate, *arguments)
    assert (code, out) == (2, "")
    assert words in " ".join(err.split())


def test_a_bad_file_of_wishes_is_refused(tell: Tell, estate: Path, tmp_path: Path) -> None:
    purse = tmp_path / "purse.yaml"
    purse.write_text("plan: 1\nbudget: lots\n", encoding="utf-8")
    code, _, err = tell(estate, "--wishes", purse)
    assert code == 2
    assert "purse.yaml:2:9" in err
    assert "mend:" in err


def test_without_a_job_it_says_how_to_begin_one(tell: Tell) -> None:
    code, _, err = tell()
    assert code == 2
    assert "there is no job yet" in err


@pytest.mark.slow
def test_a_plan_kept_is_held_against_what_happened(tell: Tell, tmp_path: Path) -> None:
    store = tmp_path / "jobs.sqlite"
    job = job_in(store)
    assert "Kept in the job." in tell("--keep")[1]
    with Journal.open(store) as journal:
        session = Session(LIBRARY, journal, job)
        ((before, plan),) = session.state.plans
        assert before == 0
        assert "renew-rear-dampers@rear" in plan.works[0].split()
        session.repair(session.repaired("renew-rear-dampers", price=250.0, hours=1.4))
    page = " ".join(tell()[1].split())
    assert "nobody has driven since" in page
    with Journal.open(store) as journal:
        Session(LIBRARY, journal, job).hear("floaty-rear", None, "", "yes", "road-test")
    page = " ".join(tell()[1].split())
    assert "369 EUR spent" in page
    assert "so far that money did not help the complaint" in page
    found = json.loads(tell("--json")[1])["so_far"]
    (stage,) = found["stages"]
    assert stage["spent"] == pytest.approx(250.0 + 1.4 * 85.0)
    assert stage["planned_cash"] == pytest.approx(plan.cash[0])
    with Journal.open(store) as journal:
        Session(LIBRARY, journal, job).do(e.FeltSince("floaty-rear", "faded"))
    assert "it has faded, so some of it was well spent" in " ".join(tell()[1].split())
    with Journal.open(store) as journal:
        Session(LIBRARY, journal, job).hear("floaty-rear", None, "", "no", "road-test")
    page = " ".join(tell()[1].split())
    assert "it is gone, for less than the 850 EUR that it was worth" in page
