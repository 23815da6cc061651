"""What every command needs: the trees, the store, the workshop, and how a result is printed."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Collection
from typing import IO, TYPE_CHECKING, Any

from diagnose.errors import InputError
from diagnose.words import harmless

if TYPE_CHECKING:
    from diagnose.job.journal import Journal
    from diagnose.model.library import Library
    from diagnose.model.story import Workshop

__all__ = [
    "FAILED",
    "MISTAKE",
    "OK",
    "demand_known",
    "journal",
    "kept_workshop",
    "library",
    "print_json",
    "read",
    "result",
    "say",
    "workshop",
]

#: Exit codes (docs/exit-codes.md): 0 done, 1 a fault of the program, 2 a mistake in what was given.
OK, FAILED, MISTAKE = 0, 1, 2


def library(options: argparse.Namespace) -> Library:
    """The trees of this command line. Raises LibraryError."""
    from diagnose.library.shelf import load

    return load(getattr(options, "trees", None))


def journal(options: argparse.Namespace) -> Journal:
    """The store of this command line, to be closed by `with`. Raises JournalError."""
    from diagnose.job.journal import Journal

    return Journal.open(getattr(options, "store", None))


def workshop(options: argparse.Namespace, library: Library, base: Workshop | None = None) -> Workshop:
    """The workshop of the options, over that of the profile or of a case file."""
    from diagnose.model.story import Workshop

    base = base or Workshop()
    known = {**library.set_ups, **library.tools, **library.checks}
    changed = {"--cannot": options.cannot, "--can": options.can}
    demand_known(changed, known, "set-up, tool or check", "write the id of a set-up, a tool or a check")
    return Workshop(
        options.currency or base.currency,
        options.labour_rate or base.labour_rate,
        (base.cannot | set(options.cannot)) - set(options.can),
    )


def demand_known(given: dict[str, list[str]], known: Collection[str], called: str, otherwise: str) -> None:
    """Refuse ids that are not known, and ids that two options contradict each other about; all at once."""
    from diagnose.library.nearest import suggest

    wrong = [
        f"{option} {name}: there is no such {called}; {suggest(name, known, otherwise)}"
        for option, names in given.items()
        for name in dict.fromkeys(names)
        if name not in known
    ]
    one, other = given
    both = [name for name in dict.fromkeys(given[one]) if name in given[other]]
    wrong += [f"{one} {name} and {other} {name} exclude each other: keep one of them" for name in both]
    if wrong:
        raise InputError("\n".join(wrong))


def kept_workshop(options: argparse.Namespace, library: Library) -> Workshop:
    """What a new job begins with: the workshop's profile, or the defaults."""
    from diagnose.job.profile import profile_path, read_profile
    from diagnose.model.story import Workshop

    return read_profile(library, profile_path(getattr(options, "store", None))) or Workshop()


def read(name: str) -> bytes:
    """The bytes of a file or of standard input; a file that cannot be read is the user's to mend."""
    from diagnose.job.files import read_bytes

    return read_bytes(name)


def say(text: str, stream: IO[str] | None = None) -> None:
    """Lines for a reader, in the letters that there are; names in them may come from anywhere."""
    out = stream or sys.stdout
    encoding = getattr(out, "encoding", None) or "ascii"
    print(harmless(text).encode(encoding, "replace").decode(encoding), file=out)


def print_json(value: Any) -> int:
    """Print a value as JSON; the exit code of a command that has done so."""
    print(json.dumps(value, indent=2, ensure_ascii=True, allow_nan=False))
    return OK


def result(name: str, found: dict[str, Any] | None) -> int:
    """The end of a command that returns what is to be printed as JSON, or has shown its pages."""
    return OK if found is None else print_json({"format": f"handling-diagnose/{name}/1", **found})
