"""What a door took of bad input, given to the commands behind it: they must do with it what they do.

A text that is well formed can still hold what nobody would write: a car of no kilometres, all answers
against each other, a hundred prices of nothing. Commands run in this process, through `cli.run`.
"""

from __future__ import annotations

import contextlib
import io
import json
import re
import sys
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from diagnose.belief.belief import Belief, Car
from diagnose.cli import run
from diagnose.errors import DiagnoseError
from diagnose.model.library import Library
from diagnose.model.story import Heard, Story
from diagnose.model.vehicle import Vehicle
from tests.fuzzing import HERE, astray

__all__ = ["BEHIND", "behind", "believed", "carried_out"]

CASE = str(min((HERE / "plans").glob("*.yaml")))

#: Door -> commands on the file `{}`; each prints something of everything that the file holds.
BEHIND: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "case files": (("rank", "{}"), ("rank", "{}", "--json"), ("sheet", "{}")),
    "wheel angles": (("angles", "{}"), ("angles", "{}", "--json"), ("angles", "{}", "--complaint", "wander")),
    "debriefs": (("debrief", "{}"), ("debrief", "{}", "--json")),
    "wishes of a plan": (("plan", CASE, "--wishes", "{}"), ("plan", CASE, "--wishes", "{}", "--json")),
    "jobs imported": (
        ("jobs", "import", "{}"),
        ("jobs", "show", "job-1"),
        ("jobs", "report"),
        ("jobs", "export", "job-1"),
        ("sheet", "job-1"),
        ("repair",),
        ("repair", "--json"),
        ("resume", "job-1"),
    ),
}


def behind(door: str, folder: Path) -> Callable[[bytes, object], list[str]]:
    """What `fuzzing.tried` is to do with each input that this door took."""

    def then(data: bytes, taken: object) -> list[str]:
        return believed(taken) if isinstance(taken, Library) else carried_out(door, data, folder)

    return then


def carried_out(door: str, data: bytes, folder: Path) -> list[str]:
    """What must not be of the commands behind a door, on these bytes; none where there are no commands."""
    path, store = folder / "given", folder / "jobs.sqlite"
    path.write_bytes(data)
    store.unlink(missing_ok=True)
    wrong = []
    for words in BEHIND.get(door, ()):
        command = [word.replace("{}", str(path)) for word in words]
        out, err = io.StringIO(), io.StringIO()
        try:
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), _no_input():
                code = run([*command, "--store", str(store)] if _keeps(words) else command)
        except Exception as error:
            wrong.append(f"{' '.join(words)}: {type(error).__name__}: {error}")
            continue
        wrong += [f"{' '.join(words)}: {each}" for each in _told(words, code, out.getvalue(), err.getvalue())]
    return wrong


def believed(library: Library) -> list[str]:
    """What must not be of a belief in these trees, for each complaint of a car well used."""
    wrong = []
    for complaint in library.complaints:
        story = Story(Vehicle(km=187_000.0, years=12.0), (Heard(complaint),))
        try:
            belief = Belief(Car(library, story.vehicle, story.complaints), story)
            shown = [float(each) for each in belief.to_blame]
        except DiagnoseError:
            continue
        except Exception as error:
            wrong.append(f"belief in {complaint}: {type(error).__name__}: {error}")
            continue
        if stray := astray(shown) or (
            "" if all(0.0 <= each <= 1.0 + 1e-9 for each in shown) else "beyond 0..1"
        ):
            wrong.append(f"belief in {complaint}: {stray}")
    return wrong


def _keeps(words: tuple[str, ...]) -> bool:
    return words[0] in ("jobs", "repair", "resume", "sheet", "plan")


def _told(words: tuple[str, ...], code: int, out: str, err: str) -> list[str]:
    """What is wrong with how a command ended: 0 with an answer, or 2 with words."""
    found = []
    if code not in (0, 2) or (code == 2 and not err.strip()):
        found.append(f"ended with {code}: {err[:200]!r}")
    if harm := [c for c in out + err if unicodedata.category(c) in ("Cc", "Zl", "Zp", "Cs") and c != "\n"]:
        found.append(f"shows {harm[:3]!r}")
    if code == 0 and "--json" in words:
        try:
            json.loads(out, parse_constant=_refuse)
        except ValueError as error:
            found.append(f"is no JSON: {error}")
    elif re.search(r"(?<![\w.])[-+]?(nan|inf)(?= (?:of|min|h|km|cu|%)\b)", out, re.IGNORECASE):
        found.append("shows a number that is not finite")
    return found


def _refuse(name: str) -> float:
    raise ValueError(f"{name} stands in it")


@contextlib.contextmanager
def _no_input() -> Iterator[None]:
    """Questions find the end of the input at once."""
    kept, sys.stdin = sys.stdin, io.StringIO("")
    try:
        yield
    finally:
        sys.stdin = kept
