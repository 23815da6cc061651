"""Help of every command, exit codes, and what a shell completes."""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from diagnose import cli
from diagnose.commands.completion import SHELLS
from diagnose.commands.helps import HELPS, WIDTH, fitted, parsers
from diagnose.commands.parser import parser as command_line
from diagnose.errors import InputError
from diagnose.job.journal import Journal

ROOT = Path(cli.__file__).parents[1]
ALL = dict(parsers(command_line()))


# Help ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ALL)
def test_every_command_says_what_it_is_for_and_gives_examples(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    page = ALL[name].format_help()
    assert [line for line in page.splitlines() if len(line) > WIDTH] == []
    assert page.isascii()
    assert (ALL[name].description or "").endswith(".")
    examples = (ALL[name].epilog or "").partition("examples:")[2]
    assert f"  diagnose {name}".rstrip() in examples
    assert page.rstrip().endswith("2 a mistake in what was given")


def test_no_help_is_of_a_command_that_is_not_there() -> None:
    assert set(HELPS) == set(ALL)


@pytest.mark.parametrize("name", ALL)
def test_the_options_of_every_example_are_those_of_its_command(name: str) -> None:
    """An example with an option, or a command, that there is not would send a newcomer astray."""
    for line in (ALL[name].epilog or "").splitlines():
        if not line.startswith("  diagnose"):
            continue
        words = re.split(r"\s{2,}|[<>|]", line.strip())[0].split()[1:]
        parser, rest = command_line(), words
        while rest and (below := _below(parser)) and rest[0] in below:
            parser, rest = below[rest[0]], rest[1:]
        known = set(parser._option_string_actions)
        used = {word.partition("=")[0] for word in rest if word.startswith("--")}
        assert used <= known, line


def _below(parser: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            return dict(action.choices)
    return {}


def test_examples_stand_beside_or_below_and_text_is_wrapped() -> None:
    short = "examples:\n  diagnose a      one\n  diagnose b --c  two\n"
    assert fitted(short) == "examples:\n  diagnose a      one\n  diagnose b --c  two"
    long = (
        f"examples:\n  diagnose a  one\n  diagnose b  {'many words ' * 8}\n          of it\n\n{'text ' * 20}"
    )
    lines = fitted(long).splitlines()
    assert lines[:4] == ["examples:", "  diagnose a", "      one", "  diagnose b"]
    assert all(len(line) <= WIDTH for line in lines)
    assert lines[-1].startswith("text")


# Exit codes ---------------------------------------------------------------------------------------------


def raising(error: BaseException) -> object:
    def command(options: argparse.Namespace) -> int:
        raise error

    return command


def test_exit_codes_are_those_of_their_page(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    page = (ROOT / "docs" / "exit-codes.md").read_text("utf-8")
    assert set(re.findall(r"^\| (\d+) \|", page, re.MULTILINE)) == {"0", "1", "2", "130"}
    assert cli.run(["--version"]) == 0
    assert cli.run(["no-such-command"]) == 2
    assert cli.run(["trees", "show", "no-such-row"]) == 2
    for error, code in ((InputError("demo"), 2), (KeyboardInterrupt(), 130)):
        monkeypatch.setattr("diagnose.commands.parser._demo", raising(error))
        assert cli.run(["demo"]) == code
    out, err = capfd.readouterr()
    assert "diagnose: demo\n" in err
    assert "Traceback" not in out + err
    # A fault of ours is not hidden.
    monkeypatch.setattr("diagnose.commands.parser._demo", raising(ZeroDivisionError()))
    with pytest.raises(ZeroDivisionError):
        cli.run(["demo"])


def test_a_fault_of_the_program_ends_with_1() -> None:
    code = "from diagnose.commands import parser\ndef demo(options): raise ZeroDivisionError\n"
    code += "parser._demo = demo\n"
    start = "import sys\nsys.argv = ['diagnose', 'demo']\nfrom diagnose.__main__ import main\nmain()\n"
    found = subprocess.run([sys.executable, "-c", code + start], capture_output=True, text=True, cwd=ROOT)
    assert found.returncode == 1
    assert "Traceback" in found.stderr


# Completion ---------------------------------------------------------------------------------------------


@pytest.fixture
def command(tmp_path: Path) -> dict[str, str]:
    """A world in which `diagnose` is a command, with a store of two jobs."""
    folder = tmp_path / "bin"
    folder.mkdir()
    file = folder / "diagnose"
    file.write_text(f'#!/bin/sh\n# PYTHON_ARGCOMPLETE_OK\nexec {sys.executable} -m diagnose "$@"\n', "utf-8")
    file.chmod(0o755)
    with Journal.open(tmp_path / "jobs.sqlite") as journal:
        journal.create("grey estate (demo)")
        journal.create("blue van (demo)")
    world = {k: v for k, v in os.environ.items() if not k.startswith(("_ARG", "COMP_"))}
    return {
        **world,
        "PATH": f"{folder}:{os.environ['PATH']}",
        "PYTHONPATH": str(ROOT),
        "DIAGNOSE_STORE": str(tmp_path / "jobs.sqlite"),
    }


def completed(line: str, world: dict[str, str]) -> list[str]:
    """What bash offers behind this line, asked as it asks at a tab."""
    ask = (
        'eval "$(diagnose completion bash)"\n'
        "found=$(complete -p diagnose | sed -E 's/.*-F ([^ ]+).*/\\1/')\n"
        "COMP_LINE=$1; COMP_POINT=${#1}; COMP_TYPE=9; COMP_KEY=9\n"
        "read -r -a COMP_WORDS <<< \"$1\"; [[ $1 == *' ' ]] && COMP_WORDS+=('')\n"
        "COMP_CWORD=$(( ${#COMP_WORDS[@]} - 1 ))\n"
        '"$found" diagnose "${COMP_WORDS[COMP_CWORD]}" ""\n'
        'printf "%s\\n" "${COMPREPLY[@]}"\n'
    )
    out = subprocess.check_output(
        ["bash", "--norc", "-c", ask, "bash", line], env=world, text=True, timeout=60
    )
    return [each.strip() for each in out.splitlines() if each.strip()]


@pytest.mark.parametrize(
    ("line", "some"),
    [
        ("diagnose sha", ["shake"]),
        ("diagnose jobs --o", ["--owed", "--open"]),
        ("diagnose trees show wand", ["wander"]),
        ("diagnose practice wand", ["wander"]),
        ("diagnose repair renew-front-drop-l", ["renew-front-drop-links"]),
        ("diagnose resume ", ["job-2", "job-1"]),
        ("diagnose jobs --complaint shim", ["shimmy"]),
        ("diagnose completion ", list(SHELLS)),
    ],
)
def test_bash_completes_commands_options_and_ids(line: str, some: list[str], command: dict[str, str]) -> None:
    assert set(some) <= set(completed(line, command))


@pytest.mark.slow
def test_completing_makes_no_store_and_tells_no_mistake(command: dict[str, str], tmp_path: Path) -> None:
    away = {**command, "DIAGNOSE_STORE": str(tmp_path / "none" / "jobs.sqlite")}
    assert not [each for each in completed("diagnose resume ", away) if each.startswith("job-")]
    assert not (tmp_path / "none").exists()
    assert completed("diagnose trees show --trees /no/such/folder wand", command) == []


# Fish asks in its own way, so only fish itself can show that its script serves; a bare machine has none, and
# the project's check asks for nothing but Python and git. Its script is made and read everywhere (below), and
# bash, which every machine of the check has, completes for real (above).
@pytest.mark.skipif(shutil.which("fish") is None, reason="fish is not installed: apt-get install fish")
def test_fish_completes_with_what_each_is_for(command: dict[str, str]) -> None:
    ask = "diagnose completion fish | source; complete -C 'diagnose jobs --ow'"
    out = subprocess.check_output(["fish", "-c", ask], env=command, text=True, timeout=60)
    assert out == "--owed\tonly jobs with work still owed\n"


@pytest.mark.parametrize("shell", SHELLS)
def test_each_shell_gets_a_script_for_this_command(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["completion", shell]) == 0
    out = capsys.readouterr().out
    assert "diagnose" in out
    assert "_ARGCOMPLETE" in out


def test_a_usual_start_does_not_load_it() -> None:
    code = "import sys\nfrom diagnose.cli import run\nrun(['--version'])\nprint('argcomplete' in sys.modules)"
    out = subprocess.check_output([sys.executable, "-c", code], text=True, cwd=ROOT)
    assert out.splitlines()[-1] == "False"
