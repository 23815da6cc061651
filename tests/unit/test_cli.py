"""The command line: exit codes, every verb, and mistakes that end with a message and no traceback."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import jsonschema
import pytest

import diagnose
from diagnose.cli import run
from diagnose.library import cache as copies
from diagnose.library import shelf
from diagnose.model.library import Library
from tests.shipped import LIBRARY
from tests.small_trees import SMALL

ROOT = Path(diagnose.__file__).parents[1]
CASE = "case: 1\nvehicle: {name: demo car, km: 187000}\ncomplaints: [{says: it wanders}]\n"


Tell = Callable[..., tuple[int, str, str]]


@pytest.fixture(scope="module")
def unpacked() -> Callable[[str, Sequence[str]], Library | None]:
    """Unpacks a compiled copy once: each command line of this file would do so again."""
    known: dict[tuple[str, ...], Library] = {}
    get = copies.get

    def once(digest: str, files: Sequence[str]) -> Library | None:
        key = (digest, *files)
        if key not in known and (found := get(digest, files)) is not None:
            known[key] = found
        return known.get(key)

    return once


@pytest.fixture(autouse=True)
def _own_store(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, unpacked: Callable[[str, Sequence[str]], Library | None]
) -> None:
    monkeypatch.setattr(copies, "get", unpacked)
    monkeypatch.setenv("DIAGNOSE_STORE", str(tmp_path / "jobs.sqlite"))
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("TERM", "dumb")


@pytest.fixture
def tell(capsys: pytest.CaptureFixture[str]) -> Tell:
    """Runs a command line in this process: (exit code, output, errors)."""

    def call(*arguments: str | Path) -> tuple[int, str, str]:
        code = run([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return call


def outside(*arguments: str, text: str | bytes = "", **environ: str) -> tuple[int, str, str]:
    """Runs the real command with that standard input."""
    done = subprocess.run(
        [sys.executable, "-m", "diagnose", *arguments],
        input=text if isinstance(text, bytes) else text.encode(),
        capture_output=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environ},
        cwd=ROOT,
        timeout=60,
    )
    return done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace")


@pytest.fixture
def small(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The small library stands in for the shipped one, where own folders are laid over it."""
    folder = tmp_path / "small"
    folder.mkdir()
    for name, text in SMALL.items():
        (folder / name).write_text(text, encoding="utf-8")
    monkeypatch.setattr(shelf, "shipped", lambda: folder)


@pytest.fixture
def case(tmp_path: Path) -> Path:
    path = tmp_path / "car.yaml"
    path.write_text(CASE, encoding="utf-8")
    return path


@pytest.fixture
def job(tell: Tell, monkeypatch: pytest.MonkeyPatch) -> str:
    """A job opened and left at its first question."""
    monkeypatch.setattr("sys.stdin", io_of("q\n"))
    code, out, _ = tell("walk", "--name", "demo plate", "it", "wanders")
    assert code == 0
    assert "Kept as job-1" in out
    return "job-1"


def io_of(text: str | bytes) -> object:
    import io

    return io.TextIOWrapper(io.BytesIO(text if isinstance(text, bytes) else text.encode()), encoding="utf-8")


# Help and mistakes --------------------------------------------------------------------------------------


def test_version_and_help(tell: Tell) -> None:
    assert tell("--version") == (0, f"handling-diagnose {diagnose.__version__}\n", "")
    code, out, _ = tell("--help")
    assert code == 0
    for command in ("walk", "resume", "rank", "trees", "jobs", "workshop", "angles", "demo", "measure"):
        assert command in out
        assert tell(command, "--help")[0] == 0


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        (["nonsense"], "invalid choice: 'nonsense'"),
        (["rank"], "the following arguments are required: case"),
        (["rank", "--top", "0", "x"], "'0' is not a count: write a whole number from 1"),
        (["rank", "--top", "²", "x"], "argument --top"),
        (["rank", "--labour-rate", "much", "x"], "'much' is not money per hour: write a number such as 95"),
        (["rank", "--labour-rate", "nan", "x"], "'nan' is not money per hour"),
        (["rank", "nowhere.yaml"], "nowhere.yaml: cannot be read (No such file or directory)"),
        (["rank", "."], "cannot be read (Is a directory)"),
        (["measure", "nowhere"], "nowhere: cannot be read"),
        (["walk", "--cannot", "lft", "wanders"], "--cannot lft: there is no such set-up, tool or check; "),
        (["walk", "--can", "rgi", "wanders"], "--can rgi: there is no such set-up, tool or check; did you"),
        (["walk", "--cannot", "rig", "--can", "rig"], "--cannot rig and --can rig exclude each other"),
        (["rank", "--currency", "moneymoney", "x"], "'moneymoney' is not a currency: write up to 8 letters"),
        (["workshop", "--currency", "\x1b[2J"], "'\\x1b[2J' is not a currency"),
        (["workshop", "--labour-rate", "0"], "'0' is not money per hour: write a number such as 95"),
        (["workshop", "--lacks", "rgi"], "--lacks rgi: there is no such set-up or tool; did you mean 'rig'?"),
        (
            ["workshop", "--has", "zzzzz"],
            "--has zzzzz: there is no such set-up or tool; `diagnose workshop` ",
        ),
        (
            ["workshop", "--lacks", "rig", "--has", "rig"],
            "--lacks rig and --has rig exclude each other: keep",
        ),
        (["resume"], "no job is open: `diagnose walk` begins one"),
        (["resume", "job-7"], "there is no job 'job-7'"),
        (["trees", "show", "outer-tie-rod-end-pla"], "did you mean 'outer-tie-rod-end-play'?"),
        (["trees", "show", "qqqqqqqqqqqqq"], "nothing has the id 'qqqqqqqqqqqqq'"),
        (["trees", "weigh", "wandr"], "there is no complaint 'wandr': did you mean 'wander'?"),
        (["trees", "draw", "wandr"], "there is no complaint 'wandr': did you mean 'wander'?"),
        (["trees", "check", "nowhere"], "there is no such folder"),
        (["--trees", "nowhere", "trees"], "there is no such folder"),
        (["jobs", "show", "job-7"], "there is no job 'job-7'"),
        (["jobs", "export", "job-7"], "there is no job 'job-7'"),
        (["jobs", "import", "nowhere"], "nowhere: cannot be read"),
        (["jobs", "rename", "job-7", "x"], "there is no job 'job-7'"),
    ],
)
def test_a_mistake_is_told_with_exit_code_2(tell: Tell, arguments: list[str], part: str) -> None:
    code, out, err = tell(*arguments)
    assert code == 2
    assert out == ""
    assert part in err


def test_a_store_that_is_no_store(tell: Tell, tmp_path: Path) -> None:
    path = tmp_path / "letter.txt"
    path.write_text("dear store, " * 200, encoding="utf-8")
    code, _, err = tell("--store", path, "jobs")
    assert code == 2
    assert "letter.txt" in err
    assert path.read_text(encoding="utf-8").startswith("dear store")


@pytest.mark.slow
@pytest.mark.parametrize("columns", ["abc", "-4", "5"])
def test_an_odd_width_is_survived(columns: str) -> None:
    code, out, err = outside("trees", COLUMNS=columns)
    assert (code, err) == (0, "")
    assert out


@pytest.mark.slow
@pytest.mark.parametrize(
    "arguments",
    [
        ["rank", "tests/cases/f61.yaml"],
        ["rank", "tests/cases/f61.yaml", "--json"],
        ["trees", "checks"],
        ["jobs"],
    ],
)
def test_a_reader_that_has_gone_is_no_mistake(arguments: list[str]) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "diagnose", *arguments],
            stdout=writing,
            stderr=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            cwd=ROOT,
        )
    finally:
        os.close(writing)
    assert done.stderr == b""
    assert done.returncode == 0


# Case files ---------------------------------------------------------------------------------------------


def test_rank_in_words(tell: Tell, case: Path) -> None:
    code, out, err = tell("rank", case, "--top", "3")
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0] == "Wanders on a straight road"
    assert [line.split()[0] for line in lines[2:5]] == ["1", "2", "3"]
    assert lines[5].split()[:4] == ["something", "not", "listed", "here"]
    assert "Conclusion" in out
    assert max(map(len, lines)) <= 80


@pytest.mark.slow
def test_a_case_ranks_the_same_from_standard_input_and_whatever_the_workshop(
    tell: Tell, case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, expected, _ = tell("rank", case, "--json")
    tell("workshop", "--labour-rate", "300", "--currency", "EUR", "--lacks", "ground", "--lacks", "talk")
    monkeypatch.setattr("sys.stdin", io_of(CASE))
    assert tell("rank", "-", "--json") == (0, expected, "")


def test_mistakes_in_a_case_are_counted(tell: Tell, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io_of("case: 1\ncomplaints: [{id: wandr}, {id: shimy}]\n"))
    code, out, err = tell("rank", "-")
    assert (code, out) == (2, "")
    assert err.splitlines()[0] == "<stdin>:2:19: there is no complaint 'wandr'"
    assert "    mend: did you mean 'shimmy'?" in err
    assert err.splitlines()[-1] == "2 problems"


def test_bytes_that_are_no_text(tell: Tell, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io_of(b"case: 1\n\xff\xfe"))
    code, _, err = tell("rank", "-")
    assert code == 2
    assert "UTF-8" in err
    assert err.splitlines()[-1] == "1 problem"


@pytest.mark.slow
def test_money_is_in_the_currency_and_rate_given(tell: Tell, case: Path) -> None:
    _, out, _ = tell("rank", case, "--json", "--currency", "crowns", "--labour-rate", "200")
    dear = json.loads(out)
    _, out, _ = tell("rank", case, "--json")
    plain = json.loads(out)
    assert (dear["currency"], plain["currency"]) == ("crowns", "cu")
    money = {cause["id"]: cause["cost_of_cure"] for cause in plain["causes"]}
    assert {c["id"]: pytest.approx(c["cost_of_cure"] / 2) for c in dear["causes"]} == money


def test_what_cannot_be_done_is_not_proposed(tell: Tell, case: Path) -> None:
    lifts = [set_up for set_up in LIBRARY.set_ups if set_up.startswith("lift")]
    assert lifts
    options = [word for each in (*lifts, "helper") for word in ("--cannot", each)]
    _, out, _ = tell("rank", case, "--json", *options)
    proposed = [LIBRARY.checks[each["check"]] for each in json.loads(out)["next"]]
    assert proposed
    assert all(check.set_up not in lifts and "helper" not in check.needs for check in proposed)


def test_measure(tell: Tell) -> None:
    code, out, _ = tell("measure", ROOT / "tests" / "cases" / "f61.yaml", "--json")
    assert code == 0
    found = json.loads(out)
    assert found["format"] == "handling-diagnose/measured/2"
    assert [each["case"] for each in found["cases"]] == ["f61"]
    assert set(found["cases"][0]["baselines"]) == set(found["summary"]["orders"]) - {"own"}
    assert found["summary"]["orders"]["own"]["slower"] == 1.0
    code, out, _ = tell("measure", "--quick", ROOT / "tests" / "cases" / "f61.yaml")
    assert code == 0
    assert "of 1 cases" in out
    assert "what the program proposes" in out
    assert "cheap to dear" not in out


@pytest.mark.slow
def test_weigh(tell: Tell) -> None:
    code, out, _ = tell("trees", "weigh", "floaty-rear", "--json")
    assert code == 0
    found = json.loads(out)
    assert found["format"] == "handling-diagnose/weighed/1"
    chances = [each["to_blame"] for each in found["suspects"]]
    assert chances == sorted(chances, reverse=True)
    assert [each["check"] for each in found["questions"]] == list(LIBRARY.complaints["floaty-rear"].questions)
    code, out, _ = tell("trees", "weigh", "floaty-rear")
    assert code == 0
    assert "something not listed here" in out


# Trees --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "what", ["complaints", "causes", "checks", "remedies", "parts", "conditions", "sources"]
)
def test_lists(tell: Tell, what: str) -> None:
    table = getattr(LIBRARY, "faults" if what == "causes" else what)
    code, out, _ = tell("trees", what, "--json")
    rows = json.loads(out)[what]
    assert code == 0
    assert json.loads(out)["format"] == f"handling-diagnose/{what}/1"
    # Complaints stand under their areas, all else as it is written.
    assert sorted(row["id"] for row in rows) == sorted(table)
    assert all(row["name"] for row in rows)
    code, out, _ = tell("trees", what)
    assert code == 0
    assert {line.split()[0] for line in out.splitlines() if line.strip()} >= set(table)  # an id is never cut
    assert out.splitlines()[-1] == f"{len(rows)} {what}"


def test_trees_alone_lists_the_complaints(tell: Tell) -> None:
    assert tell("trees") == tell("trees", "complaints")


@pytest.mark.parametrize(
    ("kind", "table"),
    [
        ("complaint", "complaints"),
        ("mechanism", "mechanisms"),
        ("cause", "faults"),
        ("part", "parts"),
        ("check", "checks"),
        ("remedy", "remedies"),
        ("access", "access"),
        ("condition", "conditions"),
    ],
)
def test_show_a_row_of_any_kind(tell: Tell, kind: str, table: str) -> None:
    name = next(iter(getattr(LIBRARY, table)))
    code, out, _ = tell("trees", "show", name)
    assert code == 0
    assert out.splitlines()[0] == f"{kind} {name}"
    code, out, _ = tell("trees", "show", name, "--json")
    row = json.loads(out)
    assert (row["format"], row["kind"], row["id"]) == ("handling-diagnose/row/1", kind, name)


def test_show_tells_the_sources_of_the_figures(tell: Tell) -> None:
    fault = next(f for f in LIBRARY.faults.values() if any(s in LIBRARY.sources for s in f.source))
    source = LIBRARY.sources[next(s for s in fault.source if s in LIBRARY.sources)]
    _, out, _ = tell("trees", "show", fault.id)
    assert source.name in " ".join(out.split())


def test_show_tells_what_a_remedy_opens_and_covers(tell: Tell) -> None:
    row = json.loads(tell("trees", "show", "renew-rear-dampers", "--json")[1])
    assert (row["access"], row["covers"]) == (
        ["rear-damper-out"],
        ["renew-rear-bump-stops", "refasten-rear-damper"],
    )
    # Car up 0.1 h, and on both sides: wheel off, damper parted below, damper out, 0.1 h each.
    assert row["access-hours"] == 0.7
    _, out, _ = tell("trees", "show", "renew-rear-dampers")
    assert "  access: rear-damper-out\n" in out
    assert "  covers: renew-rear-bump-stops, refasten-rear-damper\n" in out
    row = json.loads(tell("trees", "show", "rear-damper-parted", "--json")[1])
    assert {"renew-rear-dampers", "renew-rear-springs"} <= set(row["remedies"])


def test_show_tells_under_which_item_an_inspection_fails_a_fault(tell: Tell) -> None:
    _, out, _ = tell("trees", "show", "rear-damper-leaked")
    told = (
        "inspection: fails under item 5.3.2 of Directive 2014/45/EU, Annex I, when oil runs down the damper"
    )
    assert told in " ".join(out.split())
    assert "inspection-when" not in out
    _, out, _ = tell("trees", "show", "rear-damper-faded")
    assert "Directive 2014/45/EU" not in out


def test_the_list_of_remedies_shows_access_and_covers_where_there_is_room(
    tell: Tell, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, narrow, _ = tell("trees", "remedies")
    assert narrow.split("\n")[0].split() == ["id", "name", "hours"]
    monkeypatch.setenv("COLUMNS", "160")
    _, wide, _ = tell("trees", "remedies")
    assert wide.split("\n")[0].split() == ["id", "name", "hours", "access", "covers"]
    line = next(line for line in wide.splitlines() if line.startswith("renew-leaf-centre-bolt "))
    assert line.split()[-2:] == ["leaf-u-bolts-off", "renew-leaf-u-bolts"]


@pytest.mark.parametrize("complaint", LIBRARY.complaints)
def test_draw(tell: Tell, complaint: str) -> None:
    code, out, _ = tell("trees", "draw", complaint)
    assert code == 0
    assert out.isascii()  # TERM=dumb
    assert LIBRARY.complaints[complaint].name in out


@pytest.mark.usefixtures("small")
def test_check_of_a_sound_folder_and_of_a_broken_one(tell: Tell, tmp_path: Path) -> None:
    folder = tmp_path / "mine"
    folder.mkdir()
    file = folder / "tools.yaml"
    file.write_text("tools:\n  - {id: long-bar, name: a long bar}\n", encoding="utf-8")
    code, out, _ = tell("trees", "check", folder)
    assert (code, out) == (0, f"{folder}: no problems\n")
    code, out, _ = tell("trees", "check", folder, "--json")
    assert (code, json.loads(out)["problems"]) == (0, [])
    file.write_text("tools:\n  - {id: long bar, nam: a long bar}\n", encoding="utf-8")
    code, out, err = tell("trees", "check", folder)
    assert (code, out) == (2, "")
    assert "tools.yaml:2:" in err
    assert "did you mean 'name'?" in err
    code, out, _ = tell("trees", "check", folder, "--json")
    problems = json.loads(out)["problems"]
    assert code == 2
    assert problems
    assert all(
        p["file"].endswith("tools.yaml") and p["line"] == 2 and p["wrong"] and p["mend"] for p in problems
    )
    code, _, err = tell("--trees", folder, "trees")
    assert code == 2
    assert err.splitlines()[-1].endswith("problems")


def test_the_shipped_trees_are_sound(tell: Tell) -> None:
    code, out, err = tell("trees", "check", ROOT / "trees")
    assert (code, err) == (0, "")
    assert out.endswith(": no problems\n")


@pytest.mark.usefixtures("small")
def test_own_trees_are_laid_over_the_shipped(tell: Tell, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    text = (
        "tools: [{id: helper, name: a patient helper}]\nconditions: [{id: demo, ask: Demo?, name: a demo}]\n"
    )
    (tmp_path / "mine" / "a.yaml").write_text(text, encoding="utf-8")
    code, out, err = tell("trees", "conditions", "--trees", tmp_path / "mine", "--json")
    assert (code, err) == (0, "")
    assert "demo" in [row["id"] for row in json.loads(out)["conditions"]]
    assert "demo" not in [
        row["id"] for row in json.loads(tell("trees", "conditions", "--json")[1])["conditions"]
    ]


def test_schema(tell: Tell) -> None:
    code, out, _ = tell("trees", "schema")
    assert code == 0
    jsonschema.Draft202012Validator.check_schema(json.loads(out))


# Jobs ---------------------------------------------------------------------------------------------------


def test_no_jobs_yet(tell: Tell) -> None:
    assert tell("jobs") == (0, "No jobs yet. `diagnose walk` begins one.\n", "")
    assert json.loads(tell("jobs", "--json")[1]) == {"format": "handling-diagnose/jobs/1", "jobs": []}


@pytest.mark.slow
def test_a_job_is_listed_and_shown(tell: Tell, job: str) -> None:
    _, out, _ = tell("jobs", "--json")
    (row,) = json.loads(out)["jobs"]
    assert (row["id"], row["name"], row["closed"]) == (job, "demo plate", None)
    code, out, _ = tell("jobs")
    assert code == 0
    assert out.splitlines()[1].split()[:3] == ["job-1", "demo", "plate"]
    code, out, _ = tell("jobs", "show", job)
    assert code == 0
    assert out.startswith("Wanders on a straight road\n")
    code, out, _ = tell("jobs", "show", job, "--json")
    found = json.loads(out)
    assert (found["job"], found["format"]) == (job, "handling-diagnose/ranking/1")


def test_a_job_is_renamed(tell: Tell, job: str) -> None:
    assert tell("jobs", "rename", job, "another plate") == (0, f"{job} is now called another plate\n", "")
    assert json.loads(tell("jobs", "--json")[1])["jobs"][0]["name"] == "another plate"


@pytest.mark.slow
def test_a_job_goes_out_and_comes_back_without_loss(tell: Tell, job: str, tmp_path: Path) -> None:
    file = tmp_path / "job.yaml"
    assert tell("jobs", "export", job, file) == (0, f"{job} written to {file}\n", "")
    _, text, _ = tell("jobs", "export", job)
    assert text == file.read_text(encoding="utf-8")
    code, _, err = tell("jobs", "export", job, file)
    assert code == 2
    assert "is there already; name a new file" in err
    assert tell("jobs", "import", file) == (0, "imported as job-2\n", "")
    one, two = (json.loads(tell("jobs", "show", name, "--json")[1]) for name in ("job-1", "job-2"))
    assert {**one, "job": ""} == {**two, "job": ""}
    assert tell("jobs", "export", "job-2")[1].splitlines()[3:] == text.splitlines()[3:]


def test_a_job_from_standard_input(tell: Tell, job: str, monkeypatch: pytest.MonkeyPatch) -> None:
    _, text, _ = tell("jobs", "export", job)
    monkeypatch.setattr("sys.stdin", io_of(text))
    assert tell("jobs", "import", "-") == (0, "imported as job-2\n", "")


@pytest.mark.parametrize("data", [b"", b"nonsense", b"\xff\xfe", b"{}", b"format: 1\n"])
def test_no_job_in_that_file(tell: Tell, data: bytes, tmp_path: Path) -> None:
    (tmp_path / "x").write_bytes(data)
    code, out, err = tell("jobs", "import", tmp_path / "x")
    assert (code, out) == (2, "")
    assert str(tmp_path / "x") in err
    assert json.loads(tell("jobs", "--json")[1])["jobs"] == []


def test_the_last_open_job_is_resumed(tell: Tell, job: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io_of("q\n"))
    code, out, _ = tell("resume")
    assert code == 0
    assert f"Kept as {job}." in out


def test_without_a_command_the_open_jobs_are_offered(
    tell: Tell, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io_of("9\n²\nq\n"))
    code, out, _ = tell()
    assert code == 0
    assert "  1 job-1 demo plate (last touched " in out
    assert "'9': press Enter, or type a number, n or q." in out


# The workshop -------------------------------------------------------------------------------------------


def profile(tell: Tell) -> dict[str, object]:
    """The workshop's profile: rate, currency, ids that it lacks."""
    found = json.loads(tell("workshop", "--json")[1])
    lacks = [each["id"] for each in (*found["set_ups"], *found["tools"]) if not each["has"]]
    return {"rate": found["labour_rate"], "currency": found["currency"], "lacks": lacks}


def test_a_workshop_of_which_nothing_is_told_has_everything(tell: Tell, tmp_path: Path) -> None:
    code, out, err = tell("workshop")
    assert (code, err) == (0, "")
    lines = [line.split() for line in out.splitlines()]
    for name in (*LIBRARY.set_ups, *LIBRARY.tools):
        assert ["has", name] in [line[:2] for line in lines]
    assert "Labour costs 100 cu an hour.\nEverything is to be had.\n" in out
    assert out.isascii()  # TERM=dumb
    assert max(map(len, out.splitlines())) <= 80
    found = json.loads(tell("workshop", "--json")[1])
    assert (found["format"], found["kept"]) == ("handling-diagnose/workshop/1", False)
    assert found["file"] == str(tmp_path / "workshop.yaml")
    assert (found["checks"], found["out_of_reach"]) == (len(LIBRARY.checks), 0)
    assert not (tmp_path / "workshop.yaml").exists()  # to look is not to keep


def test_the_workshop_is_told_changed_and_forgotten(tell: Tell, tmp_path: Path) -> None:
    told = tell("workshop", "--labour-rate", "95", "--currency", "EUR", "--lacks", "rig", "--lacks", "helper")
    assert told == (
        0,
        "Labour costs 95 EUR an hour.\nNot to be had: rig, helper.\n"
        "Kept for new jobs; jobs already begun stay as they are.\n",
        "",
    )
    assert profile(tell) == {"rate": 95, "currency": "EUR", "lacks": ["rig", "helper"]}
    _, out, _ = tell("workshop")
    lacking = [line.split()[2] for line in out.splitlines() if line.startswith("has not ")]
    assert lacking == ["rig", "helper"]
    away = sum(c.set_up == "rig" or "helper" in c.needs for c in LIBRARY.checks.values())
    assert f"For want of that, {away} of {len(LIBRARY.checks)} checks are never proposed." in out
    assert out.splitlines()[-1] == str(tmp_path / "workshop.yaml")
    assert tell("workshop", "--has", "rig", "--labour-rate", "80.5")[0] == 0
    assert profile(tell) == {"rate": 80.5, "currency": "EUR", "lacks": ["helper"]}
    # Forgetting comes first: what else is told in the same breath holds.
    assert tell("workshop", "--forget", "--currency", "crowns")[0] == 0
    assert profile(tell) == {"rate": 100, "currency": "crowns", "lacks": []}
    code, out, _ = tell("workshop", "--forget")
    assert (code, out.splitlines()[-1]) == (0, "Back to the defaults.")
    assert not (tmp_path / "workshop.yaml").exists()


def test_a_mistake_changes_nothing_in_the_profile(tell: Tell) -> None:
    tell("workshop", "--currency", "EUR")
    assert tell("workshop", "--labour-rate", "95", "--lacks", "rig", "--lacks", "rgi")[0] == 2
    assert profile(tell) == {"rate": 100, "currency": "EUR", "lacks": []}


def test_a_profile_with_mistakes_stops_what_would_use_it_and_nothing_else(
    tell: Tell, job: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "workshop.yaml"
    file.write_text("workshop: 1\nlabour-rate: dear\nlacks: [rgi]\n", encoding="utf-8")
    for arguments in (["workshop"], ["workshop", "--has", "rig"], ["walk", "wanders"]):
        code, out, err = tell(*arguments)
        assert (code, out) == (2, "")
        assert err.splitlines()[0].startswith(f"{file}:2:14: 'labour-rate' must be a number of money")
        assert f"{file}:3:9: there is no set-up or tool 'rgi'" in err
        assert err.splitlines()[-1] == "2 problems"
    assert len(json.loads(tell("jobs", "--json")[1])["jobs"]) == 1
    monkeypatch.setattr("sys.stdin", io_of("q\n"))
    assert tell("resume", job)[0] == 0
    assert tell("workshop", "--forget")[0] == 0


def test_what_the_trees_do_not_know_any_more_can_be_taken_off(tell: Tell, tmp_path: Path) -> None:
    (tmp_path / "workshop.yaml").write_text("workshop: 1\nlacks: [long-bar]\n", encoding="utf-8")
    code, _, err = tell("workshop")
    assert code == 2
    assert "mend: `diagnose workshop --has long-bar` takes it off" in err
    assert tell("workshop", "--has", "long-bar")[0] == 0
    assert profile(tell)["lacks"] == []


def opened(tell: Tell, job: str) -> str:
    """What the job was begun with, as its export tells it."""
    _, text, _ = tell("jobs", "export", job)
    return " ".join(text.partition("workshop:")[2].partition("- step")[0].split())


@pytest.mark.slow
def test_a_new_job_begins_with_the_profile_and_options_go_before_it(
    tell: Tell, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    tell("workshop", "--labour-rate", "95", "--currency", "EUR", "--lacks", "rig", "--lacks", "test-lane")
    monkeypatch.setattr("sys.stdin", io_of("q\n"))
    code, out, _ = tell("walk", "wanders")
    assert code == 0
    assert out.startswith("Left out of this job: whatever needs test-lane, rig.\n")
    assert opened(tell, "job-2") == "currency: EUR labour-rate: 95.0 cannot: - rig - test-lane"
    monkeypatch.setattr("sys.stdin", io_of("q\n"))
    more = ("--currency", "crowns", "--labour-rate", "60", "--can", "rig", "--cannot", "helper")
    tell("walk", *more, "wanders")
    assert opened(tell, "job-3") == "currency: crowns labour-rate: 60.0 cannot: - helper - test-lane"
    # Without a command as well; and the job that was there before keeps what it was begun with.
    monkeypatch.setattr("sys.stdin", io_of("n\nwanders\nq\n"))
    tell()
    assert opened(tell, "job-4") == opened(tell, "job-2")
    assert opened(tell, job) == "currency: cu labour-rate: 100.0"


# Odd input ----------------------------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize("typed", ["²\n\x1b[2J\n", "9" * 5000 + "\n\x00\n", "a" * 20_000 + "\n"])
def test_odd_lines_at_a_prompt_are_survived(typed: str) -> None:
    code, out, err = outside("walk", text=f"{typed}{typed}0\nwanders\n{typed}{typed}q\n")
    assert (code, err) == (0, "")
    assert "\x1b" not in out and "\x00" not in out
    assert "Kept as job-1" in out


@pytest.mark.slow
@pytest.mark.parametrize(
    "environ",
    [
        {"PYTHONIOENCODING": "utf-8:strict"},
        {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"},
        {"LC_ALL": "C.UTF-8"},
    ],
)
def test_bytes_outside_the_encoding_are_survived(environ: dict[str, str]) -> None:
    text = "wanders\nt Réservoir \n".encode() + b"t \xff\xfe\nq\n"
    code, out, err = outside("walk", text=text, **environ)
    assert (code, err) == (0, "")
    assert "Noted." in out
    code, out, err = outside("jobs", **environ)
    assert (code, err) == (0, "")
    with contextlib.suppress(KeyError):
        if environ["PYTHONIOENCODING"] == "ascii":
            assert out.isascii()


def test_the_demo_plays_to_its_conclusion() -> None:
    code, out, err = outside("demo", "--fast", COLUMNS="80")
    assert (code, err) == (0, "")
    assert "Conclusion" in out
    assert max(map(len, out.splitlines())) <= 80
    code, again, _ = outside("demo", "--fast", COLUMNS="80")
    assert again == out
