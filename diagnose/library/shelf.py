"""Where libraries come from: the shipped trees, and folders laid over them."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.errors import LibraryError, Place, Problem
from diagnose.library import cache as copies
from diagnose.library.paths import standing
from diagnose.model.library import Library

if TYPE_CHECKING:
    from diagnose.library.build import Draft

__all__ = ["check", "load", "shipped", "written"]

_ENDINGS = (".yaml", ".yml")

#: One byte more than a file may have, so that the reader sees that it is too long.
_READ_AT_MOST = 2_000_001


@dataclass(frozen=True, slots=True)
class _File:
    """One file as found: its layer, its path under the folder, the name to show, and its bytes."""

    layer: int
    path: str
    shown: str
    data: bytes


def shipped() -> Path:
    """The folder of the shipped trees: inside an installed package, or beside it in a checkout.

    Raises LibraryError if there is neither.
    """
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "_trees", package.parent / "trees"):
        if folder.is_dir():
            return folder
    wrong = "the shipped trees are missing"
    raise LibraryError([Problem(Place(str(package / "_trees")), wrong, "install the program again")])


def load(folders: Sequence[Path] | None = None, *, cache: bool = True) -> Library:
    """The shipped library, or, with `folders`, those laid over it in their order.

    A row of a later folder replaces the one with the same id; new ids add. cache: keep and use a
    compiled copy in the user's cache folder; a copy that cannot be used is passed over.
    Raises LibraryError with every problem of the files, in file order.
    """
    problems: list[Problem] = []
    files = _files([shipped(), *(folders or ())], problems)
    if problems:
        raise LibraryError(problems)
    digest = _digest(files)
    names = [file.shown for file in files]
    if cache:
        known = copies.get(digest, names)
        if known is not None:
            return known
    draft, problems = _compile(files, digest)
    if problems:
        raise LibraryError(problems)
    if cache:
        copies.put(draft.library, names)
    return draft.library


def written(folders: Sequence[Path] | None = None) -> Draft:
    """The library of `load` with the rows as they are written, for a program that writes a layer of its own.

    Raises LibraryError with every problem of the files, in file order.
    """
    problems: list[Problem] = []
    files = _files([shipped(), *(folders or ())], problems)
    draft, found = _compile(files, "")
    if problems or found:
        raise LibraryError([*problems, *found])
    return draft


def check(folder: Path) -> list[Problem]:
    """Everything wrong with an author's folder laid over the shipped library, in file order.

    The shipped folder itself is checked alone.
    """
    base = shipped()
    layers = [base] if os.path.realpath(folder) == os.path.realpath(base) else [base, folder]
    problems: list[Problem] = []
    files = _files(layers, problems)
    problems.extend(_compile(files, "")[1])
    return sorted(set(problems))


def _compile(files: Sequence[_File], digest: str) -> tuple[Draft, list[Problem]]:
    """The draft library of the files, and all problems in file order."""
    # Only here: a library that comes from the cache needs neither parser nor graph.
    from diagnose.library.build import build
    from diagnose.library.rows import gather
    from diagnose.library.rules import judge
    from diagnose.library.text import read

    problems: list[Problem] = []
    roots = []
    for file in files:
        root, found = read(file.data, file.shown)
        problems.extend(found)
        roots.append((file.layer, root))
    draft = build(gather(roots, problems), digest)
    problems.extend(judge(draft))
    return draft, sorted(set(problems))


def _digest(files: Sequence[_File]) -> str:
    """SHA-256 over layers, paths and contents, in hexadecimal."""
    import hashlib

    total = hashlib.sha256()
    for file in files:
        head = f"{file.layer} {len(file.path)} {len(file.data)} {file.path}\n"
        total.update(head.encode("utf-8", "surrogateescape"))
        total.update(file.data)
    return total.hexdigest()


# files ----------------------------------------------------------------------------------------


def _files(layers: Sequence[Path], problems: list[Problem]) -> list[_File]:
    """All tree files of the folders, layer by layer and sorted by path within each."""
    files: list[_File] = []
    for layer, folder in enumerate(layers):
        if (what := standing(folder)) != "folder":
            wrong = "there is no such folder" if what == "nothing" else "this is not a folder"
            mend = "give the folder that holds the tree files"
            problems.append(Problem(Place(_shown(folder)), wrong, mend))
            continue
        found = _walk(folder, problems)
        if not found:
            wrong, mend = "the folder holds no tree file", "tree files end in .yaml or .yml"
            problems.append(Problem(Place(_shown(folder)), wrong, mend))
        for path in found:
            shown = _shown(path)
            try:
                with path.open("rb") as stream:
                    data = stream.read(_READ_AT_MOST)
            except OSError as error:
                wrong = f"the file cannot be read: {error.strerror or error}"
                problems.append(Problem(Place(shown), wrong, "make it readable, or take it away"))
                continue
            files.append(_File(layer, path.relative_to(folder).as_posix(), shown, data))
    return files


def _walk(folder: Path, problems: list[Problem]) -> list[Path]:
    """The tree files below a folder; hidden ones are left out, links must stay inside."""
    root = Path(os.path.realpath(folder))
    found: list[Path] = []

    def unreadable(error: OSError) -> None:
        wrong = f"the folder cannot be read: {error.strerror or error}"
        mend = "make it readable, or take it away"
        problems.append(Problem(Place(_shown(Path(error.filename))), wrong, mend))

    for here, inner, names in os.walk(folder, onerror=unreadable):
        inner[:] = [name for name in inner if not name.startswith(".")]
        for name in (*inner, *names):
            path = Path(here, name)
            is_folder = name in inner
            if name.startswith(".") or not (is_folder or path.suffix.lower() in _ENDINGS):
                continue
            if path.is_symlink():
                # A link to a place inside is passed over: what it leads to is read there already.
                if not Path(os.path.realpath(path)).is_relative_to(root):
                    wrong = "this link leads outside the folder of trees"
                    mend = "copy what it leads to, or give that folder as one of its own"
                    problems.append(Problem(Place(_shown(path)), wrong, mend))
            elif not is_folder:
                if path.is_file():
                    found.append(path)
                else:
                    wrong, mend = "this is not a plain file", "take it away"
                    problems.append(Problem(Place(_shown(path)), wrong, mend))
    return sorted(found, key=lambda path: path.relative_to(folder).parts)


def _shown(path: Path) -> str:
    """The path for a message: relative below the current directory, else absolute."""
    try:
        here = Path.cwd()
    except OSError:  # the current directory has been deleted
        return _printable(str(path))
    full = Path(os.path.normpath(here / path))  # not resolve: the path as the author knows it
    return _printable(str(full.relative_to(here) if full.is_relative_to(here) else full))


def _printable(name: str) -> str:
    """The name without what a terminal cannot show: file names are bytes and may hold anything."""
    name = name.encode("utf-8", "surrogateescape").decode("utf-8", "replace")
    return "".join(sign if sign.isprintable() else "\ufffd" for sign in name)
