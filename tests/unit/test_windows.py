"""Every command that prints, in narrow and wide windows, with and without colours and Unicode.

The widths are those of a telephone's terminal, of the usual terminal, and of a wide monitor. Escape codes:
ECMA-48, "select graphic rendition" (SGR).
"""

from __future__ import annotations

import argparse
import io
import os
import re
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from itertools import pairwise
from pathlib import Path
from unittest import mock

import pytest
from rich.cells import cell_len

from diagnose.cli import run as program
from diagnose.commands.parser import parser as command_line
from tests.commands import COMMANDS, lay_out

ROOT = Path(__file__).resolve().parents[2]

#: Quick ones, for every run of the tests.
QUICK = """\
jobs import tests/cases/f17.yaml
jobs
jobs report
rank tests/cases/f17.yaml
angles {folder}/sheet.yaml
shake --at 110:14.6 --tyre 205/55R16
trees show outer-tie-rod-end-play
"""

MORE = (
    QUICK
    + """\
rank tests/cases/r44.yaml --by money
jobs answer last - <<< {{case: 1, answers: [{{check: ask-rust-noted, findings: {{rust-was-noted: no}}}}]}}
jobs import tests/cases/r44.yaml
trees show fingertips-along-the-chain
trees draw pulls-when-braking
jobs report --to {folder}/shop.html
jobs --owed
repair renew-front-dampers --job job-1 --price 30 --hours 2
repair --job job-1
debrief {folder}/drive.yaml
debrief {folder}/drive.yaml --reference {folder}/drive.yaml
angles {folder}/sheet.yaml --job job-1
plan tests/plans/estate.yaml
sheet tests/cases/f17.yaml --to {folder}/case.html
practice --seed 1 --level 1 <<< 1;1;0;w;;w;c;1;1;y;q
practice --record
trials wander --cars 4 --workers 1
jobs erase-person job-1 <<< job-1
jobs delete job-1 <<< job-1
"""
)

#: What is data for programs or paper, and has the width that it has.
DATA = re.compile(
    r"--json|^trees schema|^completion|^jobs export|^debrief --blank|^angles --type|^debrief --type"
)

SGR = re.compile(r"\x1b\[([0-9;]*)m")
COLOURS = re.compile(r"\x1b\[(?:[0-9;]*;)?(3[0-7]|9[0-7])(?:;[0-9;]*)?m")


@contextmanager
def streams(typed: str, encoding: str) -> Iterator[tuple[io.TextIOWrapper, io.TextIOWrapper]]:
    out, errors = (io.TextIOWrapper(io.BytesIO(), encoding=encoding) for _ in range(2))
    told = io.TextIOWrapper(io.BytesIO(typed.encode()), encoding="utf-8")
    with mock.patch.multiple(sys, stdin=told, stdout=out, stderr=errors):
        yield out, errors


@cache
def printed(every: bool, columns: int, encoding: str = "utf-8", colour: bool = False) -> dict[str, str]:
    """command -> what it prints, one after the other in a folder of their own."""
    told: dict[str, str] = {}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        lay_out(folder)
        own = {"COLUMNS": str(columns), "LINES": "24", "DIAGNOSE_STORE": str(folder / "jobs.sqlite")}
        own |= {"FORCE_COLOR": "1", "TERM": "xterm-256color"} if colour else {}
        with mock.patch.dict(os.environ, own):
            if not colour:
                os.environ.pop("TERM", None)
            os.environ.pop("NO_COLOR", None)
            for line in (COMMANDS + MORE if every else QUICK).format(folder=folder).splitlines():
                arguments, _, typed = line.partition(" <<< ")
                with streams(typed.replace(";", "\n"), encoding) as (out, errors):
                    code = program(arguments.split())
                    out.flush()
                    errors.flush()
                said = errors.buffer.getvalue().decode(encoding)  # type: ignore[attr-defined]
                assert code == 0 or line.startswith("learn"), (line, said)
                text = out.buffer.getvalue().decode(encoding)  # type: ignore[attr-defined]
                told[line.replace(name, "")] = text.replace(name, "")
    return told


ALL = pytest.mark.parametrize("every", [False, pytest.param(True, marks=pytest.mark.long)])


def test_the_list_of_commands_is_whole() -> None:
    lines = [line.split() for line in (COMMANDS + MORE).splitlines()]

    def leaves(parser: argparse.ArgumentParser, name: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
        below = [a for a in parser._actions if isinstance(a, argparse._SubParsersAction)]
        if name and (not below or name == ("trees",) or name == ("jobs",)):
            yield name
        for action in below:
            for word, one in action.choices.items():
                yield from leaves(one, (*name, word))

    missing = [
        " ".join(n) for n in leaves(command_line()) if not any(line[: len(n)] == [*n] for line in lines)
    ]
    assert missing == []


@pytest.mark.slow
@ALL
@pytest.mark.parametrize("columns", [40, 80])
def test_no_line_is_wider_than_the_window(every: bool, columns: int) -> None:
    for command, text in printed(every, columns).items():
        if not DATA.search(command):
            wide = [line for line in text.splitlines() if cell_len(line) > columns and " " in line.strip()]
            assert wide == [], command


@ALL
def test_a_narrow_window_cuts_no_name_and_no_figure(every: bool) -> None:
    """What stands in 80 columns stands in 40 as well."""
    wide, narrow = printed(every, 80), printed(every, 40)
    for command, text in narrow.items():
        if not DATA.search(command):
            assert "…" not in text, command
            whole = re.sub(r"\s", "", text)  # an address may have been broken
            missing = {word for word in words(wide[command]) - words(text) if word not in whole}
            # The drawing of the wheels needs its width, as is said; its figures are those of the table.
            assert missing == set() or ("The drawing needs" in text and not any(map(str.isdigit, missing))), (
                command
            )


def words(text: str) -> set[str]:
    """Words and figures, however they are folded; without those that are cut."""
    return {*re.findall(r"\w+", re.sub(r"\w*(\.\.|…)", "", timeless(text)))}


def timeless(text: str) -> str:
    """Without the dates and times, for the clock goes on between two runs."""
    return re.sub(r"\d{4}-\d\d-\d\d|T?\d\d:\d\d(:\d\d\.\d+)?", "", text)


@pytest.mark.long
@ALL
def test_prose_is_folded_where_the_window_is_wide(every: bool) -> None:
    """A line of prose has no gaps of two spaces, as the columns of a table have."""
    for command, text in printed(every, 300).items():
        if not DATA.search(command):
            lines = [line.strip() for line in text.splitlines()]
            assert [each for each in lines if len(each) > 120 and "  " not in each and " " in each] == [], (
                command
            )


@pytest.mark.slow
@ALL
def test_colour_and_position_tell_nothing_that_the_words_do_not(every: bool) -> None:
    plain, styled = printed(every, 80), printed(every, 80, colour=True)
    assert any(SGR.search(text) for text in styled.values())
    for command, text in styled.items():
        bare = [line.rstrip() for line in timeless(SGR.sub("", text)).splitlines()]
        assert bare == [line.rstrip() for line in timeless(plain[command]).splitlines()], command
        # A line and what stands before it.
        colours: dict[str, set[str]] = {}
        for before, line in pairwise(["", *text.splitlines()]):
            if line.strip():
                colours.setdefault(SGR.sub("", f"{before} {line}"), set()).add(
                    ",".join(COLOURS.findall(line))
                )
        assert [line for line, found in colours.items() if len(found) > 1] == [], command


@pytest.mark.long
@ALL
def test_without_unicode_the_same_is_told(every: bool) -> None:
    for command, text in printed(every, 80, "ascii").items():
        assert text.isascii()
        if not DATA.search(command):
            # Minutes of an angle are a decimal part here.
            assert {w for w in words(printed(every, 80)[command]) if not w.isdigit()} - words(
                text
            ) == set(), command
