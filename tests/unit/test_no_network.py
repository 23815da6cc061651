"""The program opens no connection, whatever command is given; Python's audit events tell of every try.

Python documentation, audit events table: socket.connect, socket.bind, socket.getaddrinfo, socket.sendto,
urllib.Request; subprocesses would be a way around, so none may be started either.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from diagnose.commands.helps import parsers
from diagnose.commands.parser import parser as command_line
from tests.commands import COMMANDS, lay_out

ROOT = Path(__file__).resolve().parents[2]

RUN = """
import sys
def heard(event, arguments):
    if event.startswith(("socket.connect", "socket.bind", "socket.getaddrinfo", "socket.gethostbyname",
                         "socket.sendto", "socket.sendmsg", "urllib.", "http.", "subprocess.", "os.system",
                         "os.exec", "os.posix_spawn", "ftplib.", "smtplib.")):
        print("REACHED OUT", event, file=sys.stderr)
        import os
        os._exit(99)
sys.addaudithook(heard)
from diagnose.cli import run
for line in sys.stdin.read().splitlines():
    print("==", line)
    import io
    arguments, _, typed = line.partition(" <<< ")
    stdin, sys.stdin = sys.stdin, io.StringIO(typed.replace(";", chr(10)))
    code = run(arguments.split())
    sys.stdin = stdin
    if code != 0 and not arguments.startswith("learn"):
        print("CODE", code, arguments, file=sys.stderr)
"""

#: Every command of the command line, those below others too; "" is the program without any.
COMMANDS_OF_LINE = {name for name, _ in parsers(command_line())}


def reached(text: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", RUN],
        input=text,
        text=True,
        cwd=ROOT,
        capture_output=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), "DIAGNOSE_STORE": str(folder / "jobs.sqlite")},
    )


@pytest.mark.parametrize("lines", [4, pytest.param(99, marks=pytest.mark.long)])
def test_no_command_reaches_out(tmp_path: Path, lines: int) -> None:
    lay_out(tmp_path)
    commands = COMMANDS.format(folder=tmp_path).splitlines()[:lines]
    ran = reached("\n".join(commands), tmp_path)
    # One case is too few to learn from, which is said.
    assert [line for line in ran.stderr.splitlines() if line and "too few closed jobs" not in line] == []
    assert ran.returncode == 0
    assert ran.stdout.count("== ") >= len(commands)


def test_every_command_is_tried() -> None:
    """And a repair told by its remedy, beside the question what may be told."""
    tried = set()
    for line in COMMANDS.splitlines():
        words = line.partition(" <<< ")[0].split()
        tried |= {" ".join(words[:1]), " ".join(words[:2])}
        assert not words or words[0] in COMMANDS_OF_LINE | {"--version"}
    assert COMMANDS_OF_LINE - tried == set()
    assert [line for line in COMMANDS.splitlines() if line.startswith("repair renew-")]


def test_the_test_hears_a_connection(tmp_path: Path) -> None:
    """Without this the test above could not fail."""
    code = RUN.replace(
        "from diagnose.cli import run", "import socket; socket.socket().connect_ex(('127.0.0.1', 9))"
    )
    ran = subprocess.run([sys.executable, "-c", code], input="", text=True, capture_output=True)
    assert (ran.returncode, ran.stderr) == (99, "REACHED OUT socket.connect\n")
