"""What a terminal can do to a dialogue: sizes, a paste, Ctrl-C, Ctrl-D, Ctrl-Z, a plain locale, closed pipes.

Modes of a terminal (icanon, echo, isig): POSIX, general terminal interface, and stty.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from diagnose.job import events as e
from diagnose.job.journal import Journal
from tests.terminal.conftest import ROOT
from tests.terminal.test_walk_terminal import Terminal
from tests.unit.test_leaving import DIALOGUES, whole


@pytest.mark.slow
def test_a_resize_and_a_paste_lose_and_invent_nothing(
    environ: dict[str, str], started: list[Terminal]
) -> None:
    plain = {key: value for key, value in environ.items() if key not in ("COLUMNS", "LINES")}
    terminal = Terminal(plain, "walk", "front-clunk-over-bumps", "--name", "demo car")
    started.append(terminal)
    terminal.prompt()
    terminal.child.setwinsize(24, 60)
    terminal.type("1")
    terminal.child.setwinsize(24, 80)
    terminal.type("187000 km, 12 years")
    terminal.type("n")
    # Bracketed paste (xterm control sequences): one text, not ten answers.
    terminal.send("\x1b[200~" + "\r".join(["n"] * 10) + "\x1b[201~")
    terminal.read(lambda: "is not an answer" in terminal.text() or "type y, n" in terminal.text())
    terminal.child.send("\x03")
    assert terminal.end() == 0
    with Journal.open(Path(environ["DIAGNOSE_STORE"])) as journal:
        kept = [entry.event for entry in journal.events("job-1")]
    assert not [event for event in kept if isinstance(event, e.Answered)]
    assert len(kept) == 5


@pytest.mark.slow
@pytest.mark.parametrize("key", ["\x03", pytest.param("\x04", marks=pytest.mark.long)])
@pytest.mark.parametrize(
    "command", ["walk", *(pytest.param(f"{c} --type", marks=pytest.mark.long) for c in ("debrief", "angles"))]
)
def test_leaving_at_a_prompt_is_no_fault(
    environ: dict[str, str], started: list[Terminal], command: str, key: str
) -> None:
    terminal = Terminal(environ, *command.split())
    started.append(terminal)
    terminal.prompt()
    terminal.child.send(key)
    assert terminal.end() == 0


@pytest.mark.slow
def test_ctrl_z_gives_the_terminal_back_and_fg_the_question(environ: dict[str, str]) -> None:
    shell = ("bash", "--norc", "--noprofile", "--noediting", "-i")
    terminal = Terminal({**environ, "PS1": "shell> "}, command=shell)
    modes = "stty -a | grep -ow -- '-*\\(icanon\\|echo\\|isig\\)' | xargs; echo seen"

    def shell_says(line: str, until: str) -> str:
        mark = len(terminal.raw)
        terminal.child.send(line)
        terminal.read(lambda: until.encode() in terminal.raw[mark:])
        return terminal.raw[mark:].decode()

    terminal.read(lambda: b"shell> " in terminal.raw)
    before = shell_says(modes + "\r", "seen\r\nshell> ")
    terminal._mark = len(terminal.raw)
    terminal.child.send(f"{sys.executable} -m diagnose walk front-clunk-over-bumps --name demo\r")
    assert terminal.prompt() == "1-4; Enter: not known >"
    assert "Stopped" in shell_says("\x1a", "shell> ")
    after = shell_says(modes + "\r", "seen\r\nshell> ")
    assert [word for word in ("icanon", "echo", "isig") if f"{word} " in after] == ["icanon", "echo", "isig"]
    assert "-icanon" not in before + after and "-echo" not in before + after
    terminal._mark = len(terminal.raw)
    terminal.child.send("fg\r")
    assert terminal.prompt() == "1-4; Enter: not known >"
    assert terminal.type("1").startswith("such as 187000 km, 12 years")
    with Journal.open(Path(environ["DIAGNOSE_STORE"])) as journal:
        kept = [entry.event for entry in journal.events("job-1")]
    assert kept[-1] == e.VehicleFact("front", "strut")
    terminal.child.close(force=True)
    assert "Traceback" not in terminal.text()


@pytest.mark.long
@pytest.mark.parametrize("columns", [40, 300])
def test_a_walk_in_a_narrow_and_in_a_wide_window(environ: dict[str, str], columns: int) -> None:
    own = {key: value for key, value in environ.items() if key not in ("COLUMNS", "LINES")}
    terminal = Terminal(own, "walk", "front-clunk-over-bumps", "--name", "demo car", columns=columns)
    try:
        for answer in ("1", "187000 km, 12 years", "n", "n", "w"):
            terminal.type(answer)
        terminal.child.send("\x03")
        assert terminal.end() == 0
        lines = terminal.lines(wide=True)
        assert max(map(len, lines)) <= columns
        assert "to blame" in terminal.text()
        assert "…" not in terminal.text() or columns > 40
    finally:
        terminal.child.close(force=True)


@pytest.mark.slow
@pytest.mark.parametrize(
    "more",
    [
        {"LC_ALL": "C"},
        pytest.param({"PYTHONIOENCODING": "ascii"}, marks=pytest.mark.long),
        pytest.param({"LC_ALL": "POSIX", "NO_COLOR": "1"}, marks=pytest.mark.long),
    ],
)
def test_a_locale_without_unicode_gets_none(environ: dict[str, str], more: dict[str, str]) -> None:
    """Python itself writes UTF-8 in the C locale (PEP 540): rubbish on such a terminal."""
    command = [sys.executable, "-m", "diagnose", "shake", "--at", "110:14.6"]
    out = subprocess.run(command, env={**environ, **more}, capture_output=True, check=True).stdout
    assert out.isascii() and b"once per wheel turn" in out


@pytest.mark.long
def test_answers_from_a_file_are_taken_and_kept(environ: dict[str, str], tmp_path: Path) -> None:
    """`diagnose walk < answers.txt`, shown on a terminal."""
    (tmp_path / "answers.txt").write_text("1\n187000 km, 12 years\nn\nn\n", encoding="utf-8")
    line = (
        f"{sys.executable} -m diagnose walk front-clunk-over-bumps --name demo < {tmp_path / 'answers.txt'}"
    )
    terminal = Terminal(environ, command=("bash", "-c", line))
    assert terminal.end() == 0
    assert "1-4; Enter: not known > 1" in terminal.text()
    assert terminal.text().endswith("Kept as job-1. `diagnose` goes on with it.")
    with Journal.open(Path(environ["DIAGNOSE_STORE"])) as journal:
        assert [row.events for row in journal.jobs()] == [8]


@pytest.mark.parametrize(
    "command",
    [
        "--version",
        *(
            pytest.param(each, marks=pytest.mark.long)
            for each in (
                "jobs --json",
                "shake --at 110:14.6",
                "--help",
                "jobs",
                "jobs report",
                "trees",
                "trees schema",
                "trees check trees",
                "trees sources --json",
                "rank tests/cases/f17.yaml",
                "plan tests/plans/estate.yaml",
                "completion bash",
                "debrief --blank",
                "workshop",
                "walk wander",
                "demo --fast",
                "measure tests/cases/f17.yaml --quick",
            )
        ),
    ],
)
def test_a_reader_who_has_gone_is_no_fault(environ: dict[str, str], command: str) -> None:
    """As `| head -1` once its line is there; the output of some is all still to be written at the end."""
    reading, writing = os.pipe()
    os.close(reading)
    own = {key: value for key, value in environ.items() if key != "PYTHONUNBUFFERED"}
    ran = subprocess.run(
        [sys.executable, "-m", "diagnose", *command.split()],
        cwd=ROOT,
        env=own,
        stdin=subprocess.DEVNULL,
        stdout=writing,
        stderr=subprocess.PIPE,
    )
    os.close(writing)
    assert (ran.returncode, ran.stderr) == (0, b"")


@pytest.mark.slow
# A device that takes nothing is the one full disk that needs neither room nor rights; Linux has it, which the
# project's check runs on, macOS has not. A store on a disk filled to the last byte: test_full_disk.py.
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full, which Linux has")
def test_a_full_disk_behind_the_output_is_told(environ: dict[str, str]) -> None:
    with Path("/dev/full").open("wb") as full:
        own = {key: value for key, value in environ.items() if key != "PYTHONUNBUFFERED"}
        command = [sys.executable, "-m", "diagnose", "shake", "--at", "110:14.6"]
        ran = subprocess.run(command, env=own, stdout=full, stderr=subprocess.PIPE)
    assert ran.returncode == 2
    assert ran.stderr == b"diagnose: what it has to say cannot be written (No space left on device)\n"


@pytest.mark.long
@pytest.mark.parametrize("name", DIALOGUES)
def test_ctrl_c_at_each_prompt_of_a_terminal(environ: dict[str, str], tmp_path: Path, name: str) -> None:
    """Each place in the source that asks, once, where a dialogue first comes to it."""
    met: set[tuple[str, int]] = set()
    for number, (command, typed) in enumerate(DIALOGUES[name]):
        arguments = command.format(folder=tmp_path).split()
        for lines, place in enumerate(whole(name)[number].asked):
            if place in met:
                continue
            met.add(place)
            folder = tmp_path / f"{number}-{lines}"
            folder.mkdir()
            own = {**environ, "DIAGNOSE_STORE": str(folder / "jobs.sqlite")}
            for before, answers in DIALOGUES[name][:number]:
                subprocess.run(
                    [sys.executable, "-m", "diagnose", *before.format(folder=folder).split()],
                    input=answers.replace(";", "\n") + "\n",
                    env=own,
                    cwd=ROOT,
                    text=True,
                    capture_output=True,
                    check=True,
                )
            terminal = Terminal(own, *(each.replace(str(tmp_path), str(folder)) for each in arguments))
            for line in typed.split(";")[:lines]:
                terminal.send(line)
            terminal.prompt()
            terminal.child.send("\x03")
            assert terminal.end() == (2 if command.startswith(("jobs delete", "jobs erase")) else 0), place
            assert "Traceback" not in terminal.text()
    assert met
