"""Where the boxes of a tree go on paper: from left to right, and broken into columns where it is long.

A tree too tall for the sheet is cut at its mechanisms, as the standard does it: a triangle with a number
stands in its place, and the same triangle heads the part that was cut off (transfer symbol, IEC 61025). A
mechanism that stands several times in the tree is drawn once, and each place has its triangle.
Lengths are in pixels of a screen, 96 to the inch; y grows downwards.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from diagnose.drawing.metrics import fitted, text_width
from diagnose.drawing.picture import Box, mark_words, walk
from diagnose.drawing.sheet import (
    HOLLOW,
    RADIUS,
    SIZE,
    SMALL,
    SYMBOL,
    SYMBOL_HIGH,
    THIN,
    TRIANGLE,
    Drawing,
    Sheet,
    Text,
    circle,
    diamond,
    gate_symbol,
    rectangle,
    small_triangle,
    triangle,
)

__all__ = ["laid_out"]

#: The title's letters, and lines of text.
TITLE = 20.0
LINE, SMALL_LINE = 16.0, 14.0

#: Room for the strength before an event, the widths of text boxes and of the text behind a fault.
GUTTER, GATE_WIDTH, LEAF_WIDTH = 42.0, 196.0, 316.0

#: The way from a gate to its branches.
BUS = 20.0

MARGIN, GAP, ROW_GAP, BLOCK_GAP, COLUMN_GAP = 24.0, 8.0, 7.0, 28.0, 36.0

#: A drawing no taller than this stays in one piece. Wider to higher, as a sheet of paper lies.
ONE_PIECE, RATIO = 1100.0, 1.414

#: About what title, key and margins take of the height.
FRAME = 170.0

#: Branches of a gate that stand one below the other; more go on elsewhere.
MOST_ROWS = 20

#: A line of a box: text, whether it is small, whether it is bold.
Words = tuple[str, bool, bool]

#: How the line begins that tells of other trees with the same mechanism.
ALSO_IN = "also in "

#: How much thicker than the thinnest the likeliest way up is.
THICK = 5.0


def laid_out(top: Box, subtitle: str = "") -> Drawing:
    """The tree on a sheet, with title, subtitle and a key to its symbols.

    One piece if it is low enough; else in as many columns as bring it best onto a sheet of paper.
    """
    whole = _Layout(top, float("inf"), _measured(top))
    if whole.blocks_height <= ONE_PIECE:
        return whole.drawing(subtitle)
    top = _shortened(top)
    measured = _measured(top)
    tries = [_Layout(top, 600.0 + 50.0 * step, measured) for step in range(38)]
    return min(tries, key=lambda each: each.paper).drawing(subtitle)


def _measured(top: Box) -> dict[int, _Measured]:
    """The lines of every box and the room they take, by the identity of the box."""
    found: dict[int, _Measured] = {}
    for box in walk(top):
        words = _words(box)
        high = sum(SMALL_LINE if small else LINE for _, small, _ in words)
        high = max(high + 10.0, SYMBOL_HIGH + 4.0) if box.gate else max(high + 4.0, 24.0)
        wide = max(text_width(text, SMALL if small else SIZE, bold=bold) for text, small, bold in words)
        found[id(box)] = _Measured(tuple(words), high, wide)
    return found


def _shortened(box: Box) -> Box:
    """The same tree without long lists: any of many is any of some, or any of the others; so it is with all.

    A vote is left as it is: it counts.
    """
    branches = tuple(_shortened(each) for each in box.branches)
    if box.gate not in ("any", "all") or len(branches) <= MOST_ROWS:
        return replace(box, branches=branches)
    parts = -(-len(branches) // MOST_ROWS)
    rows = -(-len(branches) // parts)
    rest: tuple[Box, ...] = ()
    for part in reversed(range(1, parts)):
        more = branches[part * rows : (part + 1) * rows]
        name = f"{box.name} ({part + 1} of {parts})"
        rest = (Box("mechanism", name, key=f"{box.key} {part + 1}", gate=box.gate, branches=(*more, *rest)),)
    return replace(box, branches=(*branches[:rows], *rest))


@dataclass(frozen=True, slots=True)
class _Measured:
    """The lines of a box, how high the box is, and how wide its widest line."""

    words: tuple[Words, ...]
    high: float
    wide: float


class _Layout:
    """One way of cutting a tree into blocks and standing them in columns no higher than `most`."""

    def __init__(self, top: Box, most: float, measured: Mapping[int, _Measured]) -> None:
        self.top = top
        self.measured = measured
        self.most = most
        #: Key of a mechanism that is drawn in a block of its own -> number of its triangle.
        self.moved: dict[str, int] = {}
        often = Counter(box.key for box in walk(top) if box.gate)
        self.several = {key for key, many in often.items() if many > 1}
        self.blocks = [top]
        cut = self._cut(top)
        for number, key in enumerate(cut, start=1):
            self.moved[key] = number
        boxes = {box.key: box for box in walk(top) if box.gate}
        self.blocks += [boxes[key] for key in cut]

    def _cut(self, top: Box) -> list[str]:
        """Keys of the mechanisms that get blocks of their own, in the order in which they are met."""
        cut: list[str] = []
        waiting = [top]
        while waiting:
            block = waiting.pop(0)
            # What stands several times is cut off wherever it stands.
            own = {box.key for box in walk(block) if box is not block and box.key in self.several}
            if self._height(block, own | set(cut), root=True) > self.most:
                own |= {each.key for each in block.branches if each.gate and len(each.branches) > 1}
            for box in walk(block):
                if box is not block and box.key in own and box.key not in cut:
                    cut.append(box.key)
                    waiting.append(box)
        return cut

    # Sizes -----------------------------------------------------------------------------------

    @property
    def blocks_height(self) -> float:
        """All blocks one below the other."""
        return sum(self._height(each, set(self.moved), root=True) + BLOCK_GAP for each in self.blocks)

    def _height(self, box: Box, moved: set[str], *, root: bool = False) -> float:
        own = self.measured[id(box)].high
        if not box.branches or (box.key in moved and not root):
            return own
        return max(own, self._stacked(box.branches, moved))

    def _stacked(self, branches: Sequence[Box], moved: set[str]) -> float:
        """The height of branches one below the other."""
        return sum(self._height(each, moved) for each in branches) + ROW_GAP * (len(branches) - 1)

    def _width(self, box: Box, *, root: bool = False) -> float:
        if not box.gate:
            return GUTTER + 2 * RADIUS + GAP + self.measured[id(box)].wide
        own = GUTTER + GATE_WIDTH + GAP + SYMBOL
        if box.key in self.moved and not root:
            return own
        return own + BUS + max((self._width(each) for each in box.branches), default=0.0)

    @cached_property
    def columns(self) -> list[tuple[list[tuple[Box, float]], float]]:
        """Columns of blocks, each block with its height, each column with its width."""
        columns: list[list[tuple[Box, float]]] = [[]]
        filled = 0.0
        for block in self.blocks:
            high = self._height(block, set(self.moved), root=True)
            if columns[-1] and filled + high > self.most:
                columns.append([])
                filled = 0.0
            columns[-1].append((block, high))
            filled += high + BLOCK_GAP
        return [(column, max(self._width(each, root=True) for each, _ in column)) for column in columns]

    @property
    def paper(self) -> tuple[float, float]:
        """How high a sheet must be to hold it, then its area: the smaller, the larger are its letters."""
        width = 2 * MARGIN + sum(wide + COLUMN_GAP for _, wide in self.columns)
        height = FRAME + max(sum(high + BLOCK_GAP for _, high in column) for column, _ in self.columns)
        return max(width / RATIO, height), width * height

    # Drawing ---------------------------------------------------------------------------------

    def drawing(self, subtitle: str) -> Drawing:
        """The layout on a sheet, under its title."""
        sheet = Sheet()
        whole = sum(wide for _, wide in self.columns) + COLUMN_GAP * (len(self.columns) - 1)
        width = max(whole, 560.0) + 2 * MARGIN
        y = self._head(sheet, width, subtitle)
        bottom = y
        x = MARGIN
        for column, wide in self.columns:
            at = y
            for block, high in column:
                self._block(sheet, block, x, at, high)
                at += high + BLOCK_GAP
            bottom = max(bottom, at - BLOCK_GAP)
            x += wide + COLUMN_GAP
        bottom = _legend(sheet, self._key(), bottom + BLOCK_GAP, width)
        return Drawing(width, bottom + MARGIN, tuple(sheet.texts), tuple(sheet.shapes))

    def _key(self) -> list[tuple[str, str]]:
        """(symbol, words) of what stands in this drawing."""
        boxes = list(walk(self.top))
        kinds = {box.kind for box in boxes}
        gates = {box.gate for box in boxes}
        found = [
            ("any", "any of its branches is enough", "any" in gates),
            ("all", "it takes all of them", "all" in gates),
            ("at-least", "it takes so many of them", "at-least" in gates),
            ("fault", "a fault of a part", "fault" in kinds),
            ("leak", "something that the tree does not list", "leak" in kinds),
            ("moved", "goes on at the same number", bool(self.moved)),
            ("shared", "a mechanism that other trees use too", any(box.shared for box in boxes)),
            ("strength", "chance that it is enough, alone", any(box.strength < 1.0 for box in boxes)),
            ("mark", "of 100 such cars; a thick way is likely", any(mark_words(box) for box in boxes)),
        ]
        return [(kind, words) for kind, words, there in found if there]

    def _head(self, sheet: Sheet, width: float, subtitle: str) -> float:
        """Title and subtitle; returns where the tree begins."""
        y = MARGIN
        room = width - 2 * MARGIN
        for line in fitted(self.top.name, TITLE, room, bold=True):
            y += TITLE * 1.2
            sheet.texts.append(Text(MARGIN, y, line, TITLE, bold=True))
        for line in fitted(subtitle, SIZE, room) if subtitle else []:
            y += LINE
            sheet.texts.append(Text(MARGIN, y + 3.0, line))
        return y + BLOCK_GAP

    def _block(self, sheet: Sheet, block: Box, x: float, y: float, high: float) -> None:
        number = self.moved.get(block.key)
        middle = y + high / 2.0
        if number is not None:
            triangle(sheet, x + GUTTER - TRIANGLE - 6.0, middle, number)
            sheet.line((x + GUTTER - 6.0, middle), (x + GUTTER, middle))
        self._gate(sheet, block, x, y, high, root=True)

    def _gate(self, sheet: Sheet, box: Box, x: float, y: float, high: float, *, root: bool = False) -> float:
        """Draw a gate and what is below it into a strip of that height; returns the height of its middle."""
        middle = y + high / 2.0
        left = x + GUTTER
        own = self.measured[id(box)].high
        rectangle(sheet, left, middle - own / 2.0, GATE_WIDTH, own)
        _write(sheet, self.measured[id(box)].words, left + 8.0, middle, bool(box.shared))
        right = left + GATE_WIDTH
        sheet.line((right, middle), (right + GAP, middle))
        if box.key in self.moved and not root:
            triangle(sheet, right + GAP, middle, self.moved[box.key])
            return middle
        gate_symbol(sheet, box, right + GAP, middle)
        if not box.branches:
            return middle
        bus = right + GAP + SYMBOL + BUS / 2.0
        at = y + max(high - self._stacked(box.branches, set(self.moved)), 0.0) / 2.0
        ends = []
        for each in box.branches:
            tall = self._height(each, set(self.moved))
            end = self._branch(sheet, each, bus + BUS / 2.0, at, tall)
            _way(sheet, each, bus, bus + BUS / 2.0 + GUTTER, end)
            ends.append(end)
            at += tall + ROW_GAP
        begins = right + GAP + SYMBOL - (0.0 if box.gate == "all" else HOLLOW)
        sheet.line((begins, middle), (bus, middle))
        sheet.line((bus, min(*ends, middle)), (bus, max(*ends, middle)))
        return middle

    def _branch(self, sheet: Sheet, box: Box, x: float, y: float, high: float) -> float:
        if box.gate:
            return self._gate(sheet, box, x, y, high)
        middle = y + high / 2.0
        centre = x + GUTTER + RADIUS
        if box.kind == "fault":
            circle(sheet, centre, middle, RADIUS)
        else:
            diamond(sheet, centre, middle, RADIUS + 1.0)
        _write(sheet, self.measured[id(box)].words, centre + RADIUS + GAP, middle)
        return middle


def _words(box: Box) -> list[Words]:
    """The lines in a box."""
    room = GATE_WIDTH - 16.0 if box.gate else LEAF_WIDTH
    name = box.name or box.gate_words
    if box.kind == "unknown":
        name = f"{box.name}?"
    found = [(line, False, False) for line in fitted(name, SIZE, room)]
    if box.only:
        found += [(line, True, False) for line in fitted(f"only {box.only}", SMALL, room)]
    if box.shared:
        others = f"{ALSO_IN}{len(box.shared)} other tree{'s' if len(box.shared) != 1 else ''}"
        found += [(line, True, False) for line in fitted(others, SMALL, room - 14.0)]
    for words in mark_words(box):
        found += [(line, True, True) for line in fitted(words, SMALL, room, bold=True)]
    return found


def _write(sheet: Sheet, words: Sequence[Words], x: float, middle: float, shared: bool = False) -> None:
    """The lines of a box, centred upon `middle`; shared: with the sign of what goes on elsewhere."""
    y = middle - sum(SMALL_LINE if small else LINE for _, small, _ in words) / 2.0
    for text, small, bold in words:
        step = SMALL_LINE if small else LINE
        indent = 0.0
        if shared and small and not bold and text.startswith(ALSO_IN):
            small_triangle(sheet, x, y + step / 2.0)
            indent, shared = 14.0, False
        sheet.texts.append(Text(x + indent, y + step * 0.75, text, SMALL if small else SIZE, bold=bold))
        y += step


def _way(sheet: Sheet, box: Box, start: float, end: float, y: float) -> None:
    """The way from a gate to one of its branches, the thicker the likelier, its strength above it."""
    weight = box.weight
    absent = box.places == ()
    stroke = THIN + (THICK * weight if weight is not None else 0.0)
    sheet.line((start, y), (end, y), stroke=stroke, look="faint" if absent else "line")
    if box.strength < 1.0:
        sheet.texts.append(
            Text(end - 4.0, y - 4.0 - stroke / 2.0, f"{box.strength:.3g}", SMALL, anchor="end")
        )


def _legend(sheet: Sheet, key: list[tuple[str, str]], y: float, width: float) -> float:
    """The key to the symbols in as many rows as it takes; returns its lower end."""
    x = MARGIN
    y += 15.0
    for kind, words in key:
        room = 46.0 + text_width(words, SMALL) + 22.0
        if x > MARGIN and x + room > width - MARGIN:
            x, y = MARGIN, y + 38.0
        if kind in ("any", "all", "at-least"):
            branches = (Box("fault", ""), Box("fault", ""), Box("fault", ""))
            gate_symbol(sheet, Box("gate", "", gate=kind, need=2, branches=branches), x, y)
        elif kind == "fault":
            circle(sheet, x + 18.0, y, RADIUS)
        elif kind == "leak":
            diamond(sheet, x + 18.0, y, RADIUS + 1.0)
        elif kind == "moved":
            triangle(sheet, x + 3.0, y, 1)
        elif kind == "shared":
            small_triangle(sheet, x + 13.0, y)
        elif kind == "strength":
            sheet.line((x, y + 3.0), (x + 36.0, y + 3.0))
            sheet.texts.append(Text(x + 34.0, y - 1.5, "0.45", SMALL, anchor="end"))
        else:
            sheet.line((x, y), (x + 36.0, y), stroke=THIN + THICK / 2.0)
        sheet.texts.append(Text(x + 46.0, y + 4.0, words, SMALL))
        x += room
    return y + 15.0
