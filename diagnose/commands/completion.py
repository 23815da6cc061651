"""`diagnose completion`: what a shell needs to complete commands, options and ids.

The shell asks the program itself at each tab, so that ids of your own trees and jobs are known too; nothing
of it is loaded when the program is started in any other way.
"""

from __future__ import annotations

import argparse
import sqlite3
from collections.abc import Callable, Iterable
from typing import Any

from diagnose.commands.helps import parsers

__all__ = ["EXAMPLES", "SHELLS", "add_arguments", "complete", "script"]

SHELLS = ("bash", "zsh", "fish")

#: The end of `diagnose completion --help`.
EXAMPLES = """\
examples:
  diagnose completion bash > ~/.local/share/bash-completion/completions/diagnose
  diagnose completion zsh > ~/.zfunc/_diagnose      with ~/.zfunc in fpath, before compinit
  diagnose completion fish > ~/.config/fish/completions/diagnose.fish
  source <(diagnose completion bash)                only in this shell
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of the command."""
    parser.add_argument("shell", choices=SHELLS, help="the shell that you use")


def script(shell: str) -> str:
    """The text by which this shell completes `diagnose`."""
    from argcomplete.shell_integration import shellcode

    return str(shellcode(["diagnose"], shell=shell))


def complete(parser: argparse.ArgumentParser) -> None:
    """Answer a shell that asks what may come next, and leave."""
    import argcomplete

    for _, each in parsers(parser):
        for action in each._actions:
            ids = _IDS.get(action.dest)
            if ids is not None and action.choices is None:
                action.completer = _completer(ids)  # type: ignore[attr-defined]
    argcomplete.autocomplete(parser)


def _completer(ids: Callable[[argparse.Namespace], Iterable[str]]) -> Callable[..., list[str]]:
    def found(parsed_args: argparse.Namespace, **_: Any) -> list[str]:
        try:
            return list(ids(parsed_args))
        except (Exception, SystemExit):
            # Whatever is wrong with the trees or the store is told when the command runs, not at a tab.
            return []

    return found


def _library(options: argparse.Namespace) -> Any:
    from diagnose.library.shelf import load

    return load(getattr(options, "trees", None))


def _jobs(options: argparse.Namespace) -> Iterable[str]:
    """The ids of the jobs, the latest first; looking makes no store."""
    from diagnose.job.journal import store_path

    path = store_path(getattr(options, "store", None))
    if not path.exists():
        return []
    database = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)
    try:
        rows = database.execute("SELECT number FROM job ORDER BY number DESC").fetchall()
    finally:
        database.close()
    return [f"job-{number}" for (number,) in rows]


def _any_row(options: argparse.Namespace) -> Iterable[str]:
    found = _library(options)
    return [*found.complaints, *found.mechanisms, *found.faults, *found.parts, *found.checks, *found.remedies]


def _cause(options: argparse.Namespace) -> Iterable[str]:
    found = _library(options)
    return [*found.faults, *found.parts, *found.remedies]


def _means(options: argparse.Namespace) -> Iterable[str]:
    found = _library(options)
    return [*found.set_ups, *found.tools]


#: Argument -> the ids that it may have.
_IDS: dict[str, Callable[[argparse.Namespace], Iterable[str]]] = {
    "complaint": lambda options: _library(options).complaints,
    "complaints": lambda options: _library(options).complaints,
    "words": lambda options: _library(options).complaints,
    "remedies": lambda options: _library(options).remedies,
    "done": lambda options: _library(options).follow_ups,
    "job": _jobs,
    "jobs": _jobs,
    "id": _any_row,
    "cause": _cause,
    "cannot": _means,
    "can": _means,
    "lacks": _means,
    "has": _means,
}
