"""The workshop's profile: what an hour costs there and what it lacks, in a small YAML file beside the jobs.

A new job begins with it. A job begun keeps what it was begun with, and a case file tells its own, so that
neither changes when the profile does.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Collection
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from diagnose.errors import Place, Problem, WorkshopError
from diagnose.job.files import replace_text, sync_folder
from diagnose.job.journal import store_path
from diagnose.library.nearest import suggest
from diagnose.library.paths import standing
from diagnose.library.shapes import ByForm, Choice, Identifier, Key, ListOf, Number, Row, Text, optional
from diagnose.library.text import Mapping, Scalar, read, scalars
from diagnose.model.library import Library
from diagnose.model.story import Workshop

__all__ = ["forget", "profile_path", "read_profile", "remember_lack", "write_profile"]

_SHAPE = Row(
    "a workshop's profile",
    {
        "workshop": Key(Choice(("1",))),
        "labour-rate": optional(Number(0, 100_000, above=True, unit="money per hour")),
        "currency": optional(Text(8)),
        "lacks": optional(
            ByForm(
                "ids of set-ups and tools",
                "write a list such as [rig, helper]",
                scalar=Identifier(),
                sequence=ListOf(Identifier()),
            )
        ),
    },
)

_HEAD = """\
# The workshop's profile: new jobs begin with it. `diagnose workshop` shows and changes it;
# so may you, but a comment of yours is gone with the next change made there.
"""


def profile_path(store: Path | None = None) -> Path:
    """Where the profile is kept: beside the jobs, wherever those are (`store_path(store)`)."""
    return store_path(store).with_name("workshop.yaml")


def read_profile(library: Library, path: Path, knowing: Collection[str] = ()) -> Workshop | None:
    """The profile in that file, or None if there is none.

    knowing: ids that are let pass although the library may not have them any more.
    Raises WorkshopError with every problem found.
    """
    data = _bytes(path)
    if data is None:
        return None
    root, problems = read(data, str(path))
    if root is not None:
        _SHAPE.check(root, "the file", problems)
    if not isinstance(root, Mapping):
        raise WorkshopError(problems)
    # What is of the wrong shape has been told; the ids are looked at all the same, to tell all at once.
    misshapen = {problem.place for problem in problems}
    lacks = scalars(root.get("lacks"))
    known = {**library.set_ups, **library.tools}
    for each in lacks:
        if each.text not in {*known, *knowing} and each.place not in misshapen:
            problems.append(_unknown(library, each, known))
    if problems:
        raise WorkshopError(problems)
    rate, currency = root.get("labour-rate"), root.get("currency")
    default = Workshop()
    return Workshop(
        " ".join(currency.text.split()) if isinstance(currency, Scalar) else default.currency,
        float(rate.text) if isinstance(rate, Scalar) else default.labour_rate,
        frozenset(each.text for each in lacks),
    )


def _unknown(library: Library, node: Scalar, known: Collection[str]) -> Problem:
    otherwise = f"`diagnose workshop --has {node.text}` takes it off; if it is of trees of yours, name them"
    if node.text in library.checks:
        return node.problem(
            f"{node.text!r} is a check, not a set-up or tool",
            "write what it needs and you lack: `diagnose trees show` tells",
        )
    return node.problem(
        f"there is no set-up or tool {node.text!r}",
        suggest(node.text, known, f"{otherwise} with --trees"),
    )


def write_profile(path: Path, workshop: Workshop) -> None:
    """Keep the profile; returns once it is on the disk. Whoever reads finds the old file or the new one.

    Raises WorkshopError, leaving the old file as it was, if it cannot be written.
    """
    try:
        Path(os.path.realpath(path)).parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        replace_text(path, _text(workshop))
    except OSError as error:
        raise _refused(path, "written", error) from error


def remember_lack(library: Library, path: Path, what: str) -> None:
    """From now on the workshop lacks this set-up or tool; the rest of its profile stays."""
    kept = read_profile(library, path) or Workshop()
    write_profile(path, replace(kept, cannot=kept.cannot | {what}))


def forget(path: Path) -> None:
    """Back to the defaults: the file is gone, if there was one.

    Raises WorkshopError for a file that is no profile: it is somebody's, and it stays.
    """
    data = _bytes(path)
    if data is None:
        return
    root, _ = read(data, str(path))
    if not isinstance(root, Mapping) or root.get("workshop") is None:
        wrong = "this does not look like a workshop's profile: it has no key 'workshop'"
        raise WorkshopError([Problem(Place(str(path)), wrong, "look at it, and mend or delete it yourself")])
    try:
        path.unlink()
    except OSError as error:
        raise _refused(path, "deleted", error) from error
    sync_folder(path.parent)


def _bytes(path: Path) -> bytes | None:
    if standing(path) == "other":
        raise _refused(path, "read", OSError("it is a device or a pipe, and no file"))
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise _refused(path, "read", error) from error


def _refused(path: Path, done: str, error: OSError) -> WorkshopError:
    mend = "mend its rights, or keep jobs and profile in another folder with --store or DIAGNOSE_STORE"
    return WorkshopError(
        [Problem(Place(str(path)), f"the file cannot be {done}: {error.strerror or error}", mend)]
    )


def _text(workshop: Workshop) -> str:
    # Positional, for a file of ours has no exponents; exact, so that what is read back is what was told.
    rate = format(Decimal(repr(float(workshop.labour_rate))), "f")
    rate = rate.rstrip("0").rstrip(".") if "." in rate else rate
    currency = workshop.currency
    if not re.fullmatch("[A-Za-z]+", currency):
        currency = json.dumps(currency, ensure_ascii=False)  # quotes of JSON are quotes of YAML
    lines = ["workshop: 1", f"labour-rate: {rate}", f"currency: {currency}"]
    if workshop.cannot:
        lines += ["lacks:", *(f"  - {each}" for each in sorted(workshop.cannot))]
    return _HEAD + "\n".join(lines) + "\n"
