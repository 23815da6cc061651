"""Whatever stands in a name, a note or a file's name: nothing that could drive a terminal is shown."""

from __future__ import annotations

import io
import unicodedata
from pathlib import Path

import pytest
from rich.text import Text

from diagnose.screen.desk import console_for
from diagnose.words import harmless
from tests.drives import DEMO
from tests.scripted import Tell, telling
from tests.sheets import DEMO as SHEET

#: Sets the title, clears the screen, asks the terminal to answer; turns the direction of writing; rings.
#: ECMA-48 (control functions, among them the 8-bit ones), Unicode UAX 9 (explicit directional formatting).
EVIL = "demo \x1b]0;x\x07\x1b[2J\x1b[6n\x9b31m\u202eevil\u2066\u200f\x08\r\x7f\x00 car"

#: The same where the shape of a file or of the system's arguments takes no NUL and no end of a line.
NAME = EVIL.replace("\x00", "").replace("\r", "")

ESCAPED = "".join(
    c if c.isprintable() else f"\\x{ord(c):02x}" if ord(c) < 256 else f"\\u{ord(c):04x}" for c in EVIL
)
LINE = ESCAPED.replace("\\x0d", "")

#: Demo: a job in which everything that is free text holds all of that.
JOB = f"""\
journal: 1
name: "{LINE}"
events:
  - {{step: 1, time: 2026-05-04T09:30:00Z, event: opened, name: "{LINE}"}}
  - {{step: 2, time: 2026-05-04T09:31:00Z, event: complaint-heard, complaint: wander, words: "{ESCAPED}"}}
  - {{step: 3, time: 2026-05-04T09:32:00Z, event: noted, text: "{ESCAPED}"}}
  - {{step: 4, time: 2026-05-04T09:33:00Z, event: repaired, remedy: renew-front-dampers,
     place: car, ends: [front-dampers-weak@front], grade: "{LINE}"}}
  - {{step: 5, time: 2026-05-04T09:34:00Z, event: closed, outcome: "{LINE}"}}
"""


@pytest.fixture
def command(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Tell:
    monkeypatch.setenv("DIAGNOSE_STORE", str(tmp_path / "jobs.sqlite"))
    return telling("", capsys, monkeypatch)


def harm(shown: str) -> list[str]:
    """Characters of Unicode's classes control, format, line and paragraph separator, surrogate."""
    return [repr(c) for c in shown if unicodedata.category(c) in ("Cc", "Cf", "Zl", "Zp", "Cs") and c != "\n"]


def test_words_that_could_drive_a_terminal_are_made_harmless() -> None:
    assert harmless("grün, 20 °C\nand \u05d0 as it is") == "grün, 20 °C\nand \u05d0 as it is"
    assert harmless("a\x1b[31m\u202eb\udcff") == "a\ufffd[31m\ufffdb\ufffd"
    assert harm(harmless(EVIL)) == []


def test_no_page_can_carry_them() -> None:
    out = io.StringIO()
    console, _ = console_for(out, 60)
    console.print(Text(EVIL, style="bold"))
    console.print(EVIL)
    assert harm(out.getvalue()) == []
    assert out.getvalue().count("evil") == 2


@pytest.mark.slow
@pytest.mark.parametrize(
    "where", ["rank", "plan", "learn", "measure", "angles", "debrief", "jobs import", "trees check"]
)
def test_a_files_name_is_shown_without_them(command: Tell, tmp_path: Path, where: str) -> None:
    bad = tmp_path / NAME.replace("/", "")
    bad.write_text("x", encoding="utf-8")
    for name in (bad, tmp_path / ("none" + NAME)):
        code, out, err = command(*where.split(), name)
        assert (code, harm(out + err)) == (2, [])
        assert "evil" in err


@pytest.mark.slow
def test_what_was_typed_behind_the_command_is_shown_without_them(command: Tell, tmp_path: Path) -> None:
    for arguments in (
        ["walk", "--cannot", NAME],
        ["--store", str(tmp_path / NAME), "jobs", "show", "job-1"],
        ["jobs", "show", NAME],
        ["trees", "show", NAME],
        ["rank", "case.yaml", NAME, "--" + NAME],
        ["plan", "--price", f"{NAME}=5"],
        ["jobs", "rename", "job-1", "gr\udcfcn"],
        [NAME],
    ):
        code, out, err = command(*arguments)
        assert (code, harm(out + err)) == (2, []), arguments


@pytest.mark.slow
def test_a_job_full_of_them_is_shown_without_them(command: Tell, tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    assert command("jobs", "import", tmp_path / "job.yaml")[0] == 0
    for arguments in (
        ["jobs"],
        ["jobs", "show", "job-1"],
        ["jobs", "rename", "job-1", NAME],
        ["jobs", "export", "job-1"],
        ["jobs", "export", "job-1", str(tmp_path / f"out{NAME}")],
        ["repair", "--felt", "yes"],
        ["repair"],
        ["trees", "draw", "--job", "job-1"],
        ["trees", "draw", "--job", "job-1", "--format", "svg"],
        ["trees", "draw", "--job", "job-1", "--svg", str(tmp_path / f"{NAME}.svg")],
    ):
        code, out, err = command(*arguments)
        assert (code, harm(out + err)) == (0, []), arguments
        assert "evil" in out or arguments[0] != "jobs" or arguments[1:2] == ["show"]
    code, out, err = command("resume", "job-1", text=f"t {EVIL}\nw\no\n{EVIL}\nq\n")
    assert (code, harm(out + err)) == (0, [])


def test_a_drive_and_a_sheet_full_of_them(command: Tell, tmp_path: Path) -> None:
    drive = DEMO.replace("demo hatchback, invented", f'"{LINE}"').replace(
        "the glove box squeaks", f'"{LINE}"'
    )
    (tmp_path / "drive.yaml").write_text(drive, encoding="utf-8")
    (tmp_path / "sheet.yaml").write_text(SHEET.replace("name: ", f'name: "{LINE}" #'), encoding="utf-8")
    for name in ("debrief", "angles"):
        code, out, err = command(name, tmp_path / f"{'drive' if name == 'debrief' else 'sheet'}.yaml")
        assert (code, harm(out + err)) == (2, [])
        assert "control character U+001B" in err


def test_an_export_is_the_same_in_any_letters(
    command: Tell, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "job.yaml").write_text(JOB.replace("demo", "grün"), encoding="utf-8")
    assert command("jobs", "import", tmp_path / "job.yaml")[0] == 0
    data = io.BytesIO()
    stream = io.TextIOWrapper(data, encoding="ascii")
    monkeypatch.setattr("sys.stdout", stream)
    assert command("jobs", "export", "job-1")[0] == 0
    stream.flush()
    assert "grün" in data.getvalue().decode("utf-8")


#: What the library behind the screen would take for a style, a picture or a link of its own.
STYLED = "[red]demo[/red] [/] [link=x]y[/link] :car: \\[b] <b>&amp;"


@pytest.mark.slow
def test_no_name_is_taken_for_a_style(command: Tell, tmp_path: Path) -> None:
    """Markup of the library that draws tables (rich, "Console Markup", "Emoji")."""
    job = JOB.replace(f'"{LINE}"', f"'{STYLED}'").replace(f'"{ESCAPED}"', f"'{STYLED}'")
    (tmp_path / "job.yaml").write_text(job, encoding="utf-8")
    assert command("jobs", "import", tmp_path / "job.yaml")[0] == 0
    for arguments in (["jobs"], ["jobs", "export", "job-1"]):
        code, out, _ = command(*arguments)
        assert code == 0
        # A table breaks a long name over its lines.
        assert all(word in out for word in STYLED.split()), arguments
    code, out, err = command("resume", "job-1", text=f"t {STYLED}\nq\n")
    assert code == 0
    assert "".join(STYLED.split()) in "".join(out.split())
    for what in (["rank", STYLED], ["trees", "show", STYLED], ["jobs", "show", STYLED]):
        code, _, err = command(*what)
        assert (code, STYLED.replace("\\", "") in err.replace("\\", "")) == (2, True), what
