"""What a sheet holds: sections of text, tables and pictures, all frozen; how it looks is left to the writers.

Every text here is plain: nothing in it is markup in any language. The writers see to it that it stays so,
whatever a user has typed (`plain.plain_text` and the escapes of `element` and `markdown`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from diagnose.sheet.pictures import Picture

__all__ = [
    "Block",
    "Branch",
    "Branches",
    "Cell",
    "Column",
    "Facts",
    "Figure",
    "Listed",
    "Mark",
    "Notice",
    "Page",
    "Paragraph",
    "Quote",
    "Reader",
    "Section",
    "Table",
]

#: For whom a sheet is written.
Reader = Literal["owner", "workshop"]

#: What a cell or branch says besides its words; the words say it too.
Mark = Literal["", "good", "near", "bad", "quiet"]


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph. kind: `lead` is what to read if nothing else is read, `small` may be left out."""

    text: str
    kind: Literal["plain", "lead", "small"] = "plain"


@dataclass(frozen=True, slots=True)
class Quote:
    """Somebody's own words, and whose they are."""

    text: str
    by: str


@dataclass(frozen=True, slots=True)
class Listed:
    """Short texts one below the other, numbered where their order counts."""

    items: tuple[str, ...]
    ordered: bool = False


@dataclass(frozen=True, slots=True)
class Facts:
    """Names, each with what is known under it."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table; `number`: its cells are figures."""

    name: str
    number: bool = False


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell. share: a part of the whole in 0..1 that a bar beside the text shows again, or None."""

    text: str
    mark: Mark = ""
    share: float | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """A table whose first column names the row. Every row has a cell for each column; `total`: the last row
    sums up those above it."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    total: bool = False

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) != len(self.columns):
                raise ValueError(f"{self.caption}: {len(row)} cells in {len(self.columns)} columns")


@dataclass(frozen=True, slots=True)
class Branch:
    """A branch of a fault tree: its name, its figure in words, a mark, and what stands below it."""

    text: str
    figure: str = ""
    mark: Mark = ""
    below: tuple[Branch, ...] = ()


@dataclass(frozen=True, slots=True)
class Branches:
    """Part of a fault tree, top first. again: what it is called where a picture before it shows the same, so
    that it may be folded away; empty where it stands by itself."""

    top: tuple[Branch, ...]
    again: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture with its caption; title and description of the picture stand for it where it is not seen."""

    picture: Picture
    caption: str


@dataclass(frozen=True, slots=True)
class Notice:
    """What must not be missed. kind: `danger` (somebody may come to harm), `caution`, or `note`."""

    kind: Literal["danger", "caution", "note"]
    title: str
    lines: tuple[str, ...]


Block = Paragraph | Quote | Listed | Facts | Table | Branches | Figure | Notice


@dataclass(frozen=True, slots=True)
class Section:
    """A heading with what stands under it. id: unique on the page, lower-case words with hyphens."""

    id: str
    title: str
    blocks: tuple[Block, ...] = ()
    below: tuple[Section, ...] = ()


@dataclass(frozen=True, slots=True)
class Page:
    """A whole sheet. kicker: the line over the title that says what it is; about: the line under it.

    reader: for whom. notices: what stands before everything else. closing: the limits of the advice.
    """

    reader: Reader
    kicker: str
    title: str
    about: str
    notices: tuple[Notice, ...]
    sections: tuple[Section, ...]
    closing: tuple[str, ...]

    def all_sections(self) -> Iterator[Section]:
        """Every section, each before those below it."""
        todo = list(reversed(self.sections))
        while todo:
            section = todo.pop()
            yield section
            todo += reversed(section.below)
