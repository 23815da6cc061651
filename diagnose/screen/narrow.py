"""A table that a narrow window gets row by row: what stands in the columns follows under its name.

Squeezed columns would cut names and figures, and two rows that differ at their ends would look alike.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator

from rich.console import Console, ConsoleOptions, Group, RenderableType, RenderResult
from rich.measure import Measurement
from rich.table import Table as _Table
from rich.text import Text

__all__ = ["ANY", "NARROW", "Table", "keys_table"]

#: Columns below which a table that does not fit is told row by row.
NARROW = 60

#: Room for any text.
ANY = 10_000


class Table(_Table):
    """A table as rich makes it, where the window has room."""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The table; or below `NARROW`, where it would have to be squeezed, its rows one after the other."""
        width = options.max_width
        whole = self.__rich_measure__(console, options.update(max_width=ANY))
        if width >= NARROW or whole.maximum <= width:
            yield from super().__rich_console__(console, options)
        else:
            yield from self._stacked(console, options, width)

    def _stacked(self, console: Console, options: ConsoleOptions, width: int) -> Iterator[Text]:
        """Each row: the cells up to the widest as its name, under it the others behind their titles."""
        wide = options.update(max_width=ANY)
        widths = [
            max((Measurement.get(console, wide, cell).maximum for cell in column.cells), default=0)
            for column in self.columns
        ]
        lead = widths.index(max(widths)) + 1 if widths else 0
        titles = [_plain(column.header) if self.show_header else "" for column in self.columns]
        head = " ".join(each for each in titles[:lead] if each)
        if head:
            yield _hanging(Text(head, style=self.header_style or ""), width, console)
        for row in zip(*(column.cells for column in self.columns), strict=True):
            name = Text(" ").join(each for cell in row[:lead] for each in _texts(cell))
            if name.plain.strip():
                yield _hanging(name, width, console)
            told = ((title, _plain(cell)) for title, cell in zip(titles[lead:], row[lead:], strict=True))
            others = "; ".join(f"{title}: {text}" if title else text for title, text in told if text)
            if others:
                yield Text(textwrap.indent("\n".join(textwrap.wrap(others, width - 4)), "    "))


def keys_table(keys: Iterable[tuple[str, str]]) -> Table:
    """What can be typed, and what it does, one under the other."""
    table = Table(box=None, pad_edge=False, padding=(0, 1), show_header=False)
    table.add_column(style="bold")
    table.add_column()
    for key, what in keys:
        table.add_row(f"  {key}", what)
    return table


def _texts(cell: RenderableType) -> Iterable[Text]:
    """The texts in a cell, without what only sets them apart."""
    if isinstance(cell, Text):
        return [cell.copy()] if cell.plain.strip() else []
    if isinstance(cell, Group):
        return [text for each in cell.renderables for text in _texts(each)]
    assert isinstance(cell, str), f"no text: {cell!r}"
    return [Text(cell)] if cell.strip() else []


def _plain(cell: RenderableType) -> str:
    return " ".join(" ".join(each.plain.split()) for each in _texts(cell))


def _hanging(text: Text, width: int, console: Console) -> Text:
    """Folded at this width, with a small indent from the second line on."""
    lines = text.wrap(console, width - 2)
    for line in lines:
        line.rstrip()
    return Text("\n  ").join(lines)
