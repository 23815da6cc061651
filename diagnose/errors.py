"""Every error that the program raises for a fault that is not its own.

    DiagnoseError
    ├── LibraryError        trees that cannot be used; carries every Problem found
    ├── CaseError           a case file that cannot be used; carries every Problem found
    ├── WorkshopError       a workshop's profile that cannot be used; carries every Problem found
    ├── SheetError          a wheel-angle sheet that cannot be used; carries every Problem found
    ├── DebriefError        a debrief of a drive that cannot be used; carries every Problem found
    ├── InputError          a word or reading on the command line or at a prompt
    ├── ImpossibleAnswers   answers that no state of the car can explain
    └── JournalError        the store of jobs cannot be read or written

A user's mistake ends in one of these and never shows a traceback.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

__all__ = [
    "NOWHERE",
    "CaseError",
    "DebriefError",
    "DiagnoseError",
    "ImpossibleAnswers",
    "InputError",
    "JournalError",
    "LibraryError",
    "Place",
    "Problem",
    "SheetError",
    "WorkshopError",
]


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where a value stands in a file; line and column count from 1, 0 means unknown."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        """`file:line:column`, the form that editors jump to."""
        return f"{self.file}:{self.line}:{self.column}" if self.line else self.file


NOWHERE = Place("<nowhere>")


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing wrong in a file: where, what, and what to write instead.

    `text` is the line of the file, shown under the message; it may be empty.
    """

    place: Place
    wrong: str
    mend: str
    text: str = ""
    length: int = 1

    def __str__(self) -> str:
        """The message as printed: place and fault, the line with a marker, the mend."""
        lines = [f"{self.place}: {self.wrong}"]
        if self.text.strip() and self.place.line:
            number = str(self.place.line)
            column = max(self.place.column - 1, 0)
            shown = self.text.rstrip("\n")[:160]
            if column < len(shown):
                marks = "^" * max(1, min(self.length, len(shown) - column))
                lines.append(f"    {number} | {shown}")
                lines.append(f"    {' ' * len(number)} | {' ' * column}{marks}")
        lines.append(f"    mend: {self.mend}")
        return "\n".join(lines)


class DiagnoseError(Exception):
    """Something that the user can mend; the message says how."""


class _Problems(DiagnoseError):
    """An error that carries all problems of one reading, in file order."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: Sequence[Problem] = tuple(sorted(set(problems)))
        super().__init__("\n".join(str(problem) for problem in self.problems))


class LibraryError(_Problems):
    """Trees that cannot be used."""


class CaseError(_Problems):
    """A case file that cannot be used."""


class WorkshopError(_Problems):
    """A workshop's profile that cannot be used, read or written."""


class SheetError(_Problems):
    """A wheel-angle sheet that cannot be used."""


class DebriefError(_Problems):
    """A debrief of a drive that cannot be used."""


class PlanError(_Problems):
    """Wishes and prices for a plan that cannot be used."""


class InputError(DiagnoseError):
    """Something typed that the program cannot use."""


class ImpossibleAnswers(DiagnoseError):
    """Answers that together have probability 0 under the trees."""


class JournalError(DiagnoseError):
    """The store of jobs cannot be read or written."""
