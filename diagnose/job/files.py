"""Files named on the command line: read whole, and written so that a reader finds the old one or the new."""

from __future__ import annotations

import os
import sys
import time
from contextlib import suppress
from pathlib import Path

from diagnose.errors import InputError
from diagnose.library.paths import standing

__all__ = ["is_there", "plain_name", "read_bytes", "replace_text", "shown_name", "sync_folder", "write_text"]


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
        with open(name, "rb", opener=_at_once) as stream:
            return stream.read(most + 1)
    except (OSError, ValueError) as error:
        words = getattr(error, "strerror", None) or str(error)
        raise InputError(
            f"{plain_name(name)}: cannot be read ({words}); give a file, or - for standard input"
        ) from error


def _at_once(name: str, flags: int) -> int:
    """Opens a pipe to which nobody writes, which is empty then, instead of waiting for somebody."""
    number = os.open(name, flags | getattr(os, "O_NONBLOCK", 0))
    os.set_blocking(number, True)
    return number


def is_there(path: Path) -> bool:
    """True if there is such a file. Raises InputError for what is none, such as a folder or a pipe."""
    what = standing(path)
    if what in ("folder", "other"):
        kind = "a folder" if what == "folder" else "a device or a pipe, and no file"
        raise InputError(f"{plain_name(path)}: is {kind}; name a file")
    return what == "file"


def write_text(path: Path, text: str, *, new: bool = False) -> None:
    """Write the file; returns once it is on the disk. Whoever reads finds the old file or the new one.

    new: the file must not be there yet. A file that is there keeps its rights. Raises InputError.
    """
    try:
        replace_text(path, text, new=new)
    except FileExistsError as error:
        raise InputError(f"{plain_name(path)}: is there already; name a new file") from error
    except (OSError, ValueError) as error:
        words = getattr(error, "strerror", None) or str(error)
        raise InputError(f"{plain_name(path)}: cannot be written ({words}); name another file") from error


def replace_text(path: Path, text: str, *, new: bool = False) -> None:
    """Put the text in the place of what is there, whole or not at all, and bring it to the disk.

    A file that is there keeps its rights. Raises OSError, FileExistsError where `new` is asked for and there
    is one, and ValueError for a name that cannot be.
    """
    target = Path(os.path.realpath(path))  # a link to the file stays a link
    aside = target.with_name(f".{target.name[:100]}.{os.getpid()}.{time.monotonic_ns()}")
    if new and (path.is_symlink() or target.exists()):
        raise FileExistsError(str(path))
    try:
        with aside.open("x", encoding="utf-8") as stream:
            with suppress(FileNotFoundError):
                aside.chmod(target.stat().st_mode & 0o777)
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        if not new or not _linked(aside, target):
            aside.replace(target)
    finally:
        with suppress(OSError):
            aside.unlink(missing_ok=True)
    sync_folder(target.parent)


def _linked(aside: Path, target: Path) -> bool:
    """Give the file its name unless somebody has come to use it; False where the system knows no links."""
    try:
        os.link(aside, target)
    except FileExistsError:
        raise
    except (OSError, AttributeError):
        return False
    return True


def sync_folder(folder: Path) -> None:
    """Bring the change of name to the disk too, on systems where a folder can be opened for that."""
    with suppress(OSError):
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)
