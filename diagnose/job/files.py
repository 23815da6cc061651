"""Files named on the command line: read whole, and written so that a reader finds the old one or the new."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path

from diagnose.errors import InputError

__all__ = ["is_there", "plain_name", "read_bytes", "shown_name", "write_text"]


def plain_name(name: str | Path) -> str:
    """A file's name without what could drive the terminal."""
    return "".join(letter if letter.isprintable() else "?" for letter in str(name))


def shown_name(name: str) -> str:
    """A file's name for messages; `-` is standard input."""
    return "<stdin>" if name == "-" else plain_name(name)


def read_bytes(name: str, most: int | None = None) -> bytes:
    """The bytes of a file or of standard input, no more than a little over what may be read.

    most: that limit, if it is another than that of a file of trees.

    Raises InputError.
    """
    from diagnose.library.text import MAX_BYTES

    most = MAX_BYTES if most is None else most
    try:
        if name == "-":
            return sys.stdin.buffer.read(most + 1)
        with Path(name).open("rb") as stream:
            return stream.read(most + 1)
    except (OSError, ValueError) as error:
        words = getattr(error, "strerror", None) or str(error)
        raise InputError(
            f"{plain_name(name)}: cannot be read ({words}): give a file, or - for standard input"
        ) from error


def is_there(path: Path) -> bool:
    """True if there is such a file. Raises InputError where that cannot be found out."""
    try:
        return path.exists()
    except (OSError, ValueError) as error:
        raise InputError(f"{plain_name(path)}: cannot be looked at; name another file") from error


def write_text(path: Path, text: str) -> None:
    """Write the file; returns once it is on the disk. Whoever reads finds the old file or the new one.

    Raises InputError.
    """
    path = path.resolve()  # a link to the file stays a link
    aside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        try:
            with aside.open("w", encoding="utf-8") as stream:
                stream.write(text)
                stream.flush()
                os.fsync(stream.fileno())
            aside.replace(path)
        finally:
            with suppress(OSError):
                aside.unlink(missing_ok=True)
    except (OSError, ValueError) as error:
        words = getattr(error, "strerror", None) or str(error)
        raise InputError(f"{plain_name(path)}: cannot be written ({words}); name another file") from error
