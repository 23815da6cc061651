"""`diagnose sheet`: what it takes, where it writes, and what it says when it cannot."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from diagnose.cli import run
from diagnose.commands.sheet import _shown
from tests.parsed import find, parsed, text_of

#: Demo: a small case, on which no check can be done, so that the sheet is made quickly.
CASE = """\
case: 1
vehicle: {name: demo van <b>, km: 164000, front: strut}
complaints: [{says: knocks at the front over bumps}]
workshop:
  currency: EUR
  labour-rate: 80
  cannot: [talk, jacked, lift-hanging, lift-loaded, rig, road, wheels-off, ground, bench]
answers:
  - {check: rock-at-3-and-9, findings: {linkage-play-at-tyre: {front-left: 5 mm}}}
"""


@pytest.fixture
def case(tmp_path: Path) -> Path:
    file = tmp_path / "van.yaml"
    file.write_text(CASE, "utf-8")
    return file


@pytest.fixture(autouse=True)
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DIAGNOSE_STORE", str(tmp_path / "jobs.sqlite"))
    return tmp_path / "jobs.sqlite"


@pytest.mark.slow
def test_markdown_to_standard_output(case: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["sheet", str(case)]) == 0
    out = capsys.readouterr().out
    assert out.startswith("# Clunk from the front over bumps\n")
    assert "does not certify" in out and "\\<b>" in out


@pytest.mark.slow
@pytest.mark.parametrize("name", ["van.HTML", "van.md", "van.json"])
def test_a_file_by_its_ending(
    case: Path, tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / name
    assert run(["sheet", str(case), "--to", str(target), "--for", "owner"]) == 0
    assert capsys.readouterr().out == f"written to {target}\n"
    text = target.read_text("utf-8")
    if name.lower().endswith("html"):
        assert text_of(find(parsed(text), "h1")[0]) == "Clunk from the front over bumps"
    elif name.endswith("md"):
        assert "For the owner of the car" in text
    else:
        assert json.loads(text)["reader"] == "owner"
    assert sorted(each.name for each in tmp_path.iterdir()) == sorted(["van.yaml", name])


def test_a_terminal_that_has_only_ascii() -> None:
    assert _shown("demo \u00b7 -0\u00b040' \u201cso\u201d \u05d0", "ascii") == 'demo - -0d40m "so" ?'
    assert _shown("demo \u00b7 -0\u00b040'", "utf-8") == "demo \u00b7 -0\u00b040'"


@pytest.mark.slow
def test_json_is_the_same_on_standard_output(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["sheet", str(case), "--json"]) == 0
    out = json.loads(capsys.readouterr().out)
    assert out["format"] == "handling-diagnose/sheet/1" and out["reader"] == "workshop"


@pytest.mark.slow
def test_without_name(case: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["sheet", str(case), "--without-name"]) == 0
    out = capsys.readouterr().out
    assert "demo van" not in out and "knocks at the front" not in out and "164 000 km" in out


@pytest.mark.slow
def test_a_file_that_is_there_is_not_written_over_unasked(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "kept.md"
    target.write_text("mine", "utf-8")
    assert run(["sheet", str(case), "--to", str(target)]) == 2
    assert capsys.readouterr().err == (
        f"diagnose: {target}: is there already; name a new file, or write over it with --replace\n"
    )
    assert target.read_text("utf-8") == "mine"
    assert run(["sheet", str(case), "--to", str(target), "--replace"]) == 0
    assert target.read_text("utf-8").startswith("# Clunk")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--to", "van.pdf"], "'van.pdf' ends in none of .html, .md, .json: name it such as van.html"),
        (
            ["--to", "nowhere/at/all/van.html"],
            "cannot be written (No such file or directory); name another file",
        ),
        (["--to", "van.md", "--json"], "--to and --json exclude each other: name a file that ends in .json"),
        (["--for", "nobody"], "invalid choice: 'nobody'"),
    ],
)
def test_a_mistake_is_told_without_a_traceback(
    case: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    arguments: list[str],
    said: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["sheet", str(case), *arguments]) == 2
    error = capsys.readouterr().err
    assert said in error and "Traceback" not in error


def test_a_folder_is_no_file(case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "folder.html").mkdir()
    assert run(["sheet", str(case), "--to", str(tmp_path / "folder.html"), "--replace"]) == 2
    assert "is a folder; name a file in it" in capsys.readouterr().err


def test_without_a_job(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["sheet"]) == 2
    assert capsys.readouterr().err == "diagnose: there is no job yet: `diagnose walk` begins one\n"


def test_a_case_that_is_wrong_names_its_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "bad.yaml"
    file.write_text("case: 1\ncomplaints: [{id: wandr}]\n", "utf-8")
    assert run(["sheet", str(file)]) == 2
    assert f"{file}:2:19: there is no complaint 'wandr'" in capsys.readouterr().err
