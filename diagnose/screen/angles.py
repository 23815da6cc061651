"""A wheel-angle sheet as a table: each value of either side, before and after, with its verdict in words."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rich.console import Group, RenderableType
from rich.text import Text

from diagnose.angles.derive import Derived, derived
from diagnose.angles.judge import Judgement, judged
from diagnose.angles.sheet import AXLES, SIDES, Allowed, Sheet, Sheets, Spot
from diagnose.angles.show import Shown
from diagnose.screen.desk import Look, clean
from diagnose.screen.narrow import NARROW
from diagnose.screen.pages import paragraph

__all__ = ["MARKS", "STYLES", "Judged", "judge_all", "shown_for", "table_page"]

#: A verdict's mark behind a value, and its colour, which only repeats it.
MARKS = {"out": "!", "near": "~"}
STYLES = {"out": "bold red", "near": "yellow", "in": "green"}

#: From this width on the table tells every verdict in full.
WIDE = 120

#: The rows of an axle: the value of each wheel, and what of both stands in the third column.
_ROWS = {
    "front": (
        ("camber", "cross-camber"),
        ("caster", "cross-caster"),
        ("inclination", "cross-inclination"),
        ("included", "cross-included"),
        ("toe", ""),
        ("", "total-toe"),
        ("toe-to-thrust", ""),
        ("", "set-back"),
        ("", "set-back-length"),
        ("", "rim"),
        ("height", "camber-of-height"),
    ),
    "rear": (
        ("camber", "cross-camber"),
        ("caster", ""),
        ("inclination", ""),
        ("toe", ""),
        ("", "total-toe"),
        ("", "thrust"),
        ("", "crab"),
        ("height", "camber-of-height"),
    ),
}
_NAMES = {
    "included": "included",
    "inclination": "inclination",
    "toe-to-thrust": "toe to thrust",
    "total-toe": "total toe",
    "set-back-length": "set-back",
    "crab": "rear runs off",
    "rim": "steering wheel",
    "height": "ride height",
}


@dataclass(frozen=True, slots=True)
class Judged:
    """One measurement with all that is said of it."""

    sheet: Sheet
    figures: Derived
    judgements: tuple[Judgement, ...]

    def of(self, axle: str, side: str, angle: str) -> Judgement | None:
        """What is said of the value there, or None if nothing is."""
        return next((each for each in self.judgements if each.spot == Spot(axle, side, angle)), None)

    def value(self, axle: str, side: str, angle: str) -> float | None:
        """The value that stands there, measured or derived."""
        if angle == "toe-to-thrust":
            found: float | None = getattr(self.figures, f"toe_to_thrust_{side}").value
            return found
        if angle == "camber-of-height":
            found = getattr(self.figures, f"camber_of_height_{axle}").value
            return found
        if angle == "crab":
            return self.figures.crab.value
        if angle == "rim":
            return self.sheet.rim
        one = self.of(axle, side, angle)
        if one is None and side:
            return self.sheet.value(Spot(axle, side, angle))
        return one.value if one else None


def shown_for(sheets: Sheets, look: Look) -> Shown:
    """How values of these sheets are shown here."""
    return Shown(sheets.units, sheets.car.toe_at, not look.unicode)


def judge_all(sheets: Sheets, shown: Shown, general: bool = False) -> tuple[Judged, ...]:
    """Every measurement of a file, judged."""
    found = []
    for sheet in sheets.both():
        figures = derived(sheet)
        found.append(Judged(sheet, figures, judged(sheet, shown, general, figures)))
    return tuple(found)


def table_page(sheets: Sheets, all_judged: Sequence[Judged], look: Look, shown: Shown) -> RenderableType:
    """The car and the table of all its values."""
    lines: list[RenderableType] = [_head(sheets, look, shown)]
    if not all_judged:
        lines.append(paragraph("Nothing is measured yet: `diagnose angles --type` takes readings.", look, 0))
    return Group(*lines, *(_Table(sheets, all_judged, look, shown).lines() if all_judged else ()))


def _head(sheets: Sheets, look: Look, shown: Shown) -> RenderableType:
    car = sheets.car
    name = Text(clean(car.name) or "a car without a name", style="bold")
    layout = [f"{axle} {getattr(car, axle).replace('-', ' ')}" for axle in AXLES if getattr(car, axle)]
    known = [*layout, *([f"wheelbase {shown.length(car.wheelbase, plus=False)}"] if car.wheelbase else [])]
    if car.toe_at is not None:
        known.append(f"toe at {car.toe_at * 1000:.4g} mm")
    told = f" {look.dot} ".join(known)
    signs = "Toe-in, top of the wheel out, top of the axis back and in, to the right: positive."
    return Group(
        name, *([paragraph(told, look, 0, "dim")] if told else []), paragraph(signs, look, 0, "dim"), Text("")
    )


# The table ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Table:
    sheets: Sheets
    judged: Sequence[Judged]
    look: Look
    shown: Shown

    def lines(self) -> Iterator[Text]:
        """The head, and for every axle its rows; what is allowed stands under each."""
        wide = (8 if self._is_tight() else 10) if len(self.judged) == 2 else 9
        yield self._titles(wide)
        for axle in AXLES:
            rows = [row for row in _ROWS[axle] if self._is_there(axle, *row)]
            if rows:
                yield Text(f"{axle} axle", style="bold")
            for angle, third in rows:
                yield from self._row(axle, angle, third, wide)

    def _is_tight(self) -> bool:
        """True where two measurements leave no room for a plus sign and a space before the unit."""
        return len(self.judged) == 2 and self.look.width < 100

    def _titles(self, wide: int) -> Text:
        names = ("left", "right", "diff/total")
        if self.look.width < NARROW:
            return Text("before, after" if len(self.judged) == 2 else "", style="dim")
        if len(self.judged) == 1:
            return Text(" " * 16 + "".join(f"{each:<{wide + 2}}" for each in names) + "verdict", style="dim")
        one = " " * 16 + "".join(f"{each:<{wide * 2}}" for each in names)
        two = " " * 16 + "".join(f"{each:<{wide}}" for each in ("before", "after") * 3) + "verdict"
        return Text(one.rstrip() + "\n" + two, style="dim")

    def _is_there(self, axle: str, angle: str, third: str) -> bool:
        cells = [(side, angle) for side in SIDES if angle] + ([("", third)] if third else [])
        return any(
            each.value(axle, *cell) is not None or each.of(axle, *cell) is not None
            for each in self.judged
            for cell in cells
        )

    def _row(self, axle: str, angle: str, third: str, wide: int) -> Iterator[Text]:
        if self.look.width < NARROW:
            yield from self._narrow_row(axle, angle, third)
            return
        name = angle or third
        line = Text(f"  {_NAMES.get(name, name):<14}")
        gap = wide if len(self.judged) == 2 else wide + 2
        for side, what in (("left", angle), ("right", angle), ("", third)):
            for each in self.judged:
                line.append_text(self._cell(each, axle, side, what, gap))
        words = self._verdicts(axle, angle, third)
        start = line.cell_len
        room = max(min(self.look.width, 160) - start, 12)
        parts = textwrap.wrap(words, room) or [""]
        style = next((STYLES[each] for each in ("out", "near") if each in words), "")
        line.append(parts[0], style)
        for part in parts[1:]:
            line.append("\n" + " " * start + part, style)
        line.rstrip()
        yield line
        yield from self._below(axle, angle, third)

    def _narrow_row(self, axle: str, angle: str, third: str) -> Iterator[Text]:
        """The same value by value, where the columns have no room."""
        name = angle or third
        yield Text(f"  {_NAMES.get(name, name)}")
        for side, what in (("left", angle), ("right", angle), ("", third)):
            cells = [self._cell(each, axle, side, what, 0) for each in self.judged]
            if any(cell.plain for cell in cells):
                title = side or ("difference" if angle else "")
                line = Text(f"    {title}: " if title else "    ")
                for number, cell in enumerate(cells):
                    line.append_text(Text(", ") if number else Text("")).append_text(
                        cell if cell else Text("-")
                    )
                yield line
        words = self._verdicts(axle, angle, third)
        style = next((STYLES[each] for each in ("out", "near") if each in words), "")
        if words:
            yield Text(textwrap.indent("\n".join(textwrap.wrap(words, self.look.width - 6)), "    "), style)
        yield from self._below(axle, angle, third)

    def _below(self, axle: str, angle: str, third: str) -> Iterator[Text]:
        """What is allowed."""
        allowed = self._allowed(axle, angle, third)
        if third == "camber-of-height" and any(
            each.value(axle, "", third) is not None for each in self.judged
        ):
            allowed = "diff: of camber, which these heights would make on a demo linkage of this layout"
        if allowed:
            yield Text(
                textwrap.indent("\n".join(textwrap.wrap(allowed, self.look.width - 6)), "    "), style="dim"
            )

    def _cell(self, each: Judged, axle: str, side: str, what: str, width: int) -> Text:
        value = each.value(axle, side, what) if what else None
        if value is None:
            measured = what and each.of(axle, side, what) is not None
            return Text(f"{'-' if measured else '':<{width}}")
        judgement = each.of(axle, side, what)
        verdict = judgement.verdict if judgement else "no figure"
        text = self.shown.value(value, what, plus=not self._is_tight())
        if self._is_tight():
            text = text.replace(" mm", "mm")
        return Text(f"{text + MARKS.get(verdict, ''):<{width}}", STYLES.get(verdict, ""))

    def _verdicts(self, axle: str, angle: str, third: str) -> str:
        said = [self._verdict(each, axle, angle, third) for each in self.judged]
        if len(said) == 1:
            return said[0]
        if said[0] == said[1]:
            return f"still: {said[0]}" if "out" in said[0] or "near" in said[0] else said[0]
        if not any(said):
            return ""
        return f"{said[0] or '-'}; now {said[1] or '-'}"

    def _verdict(self, each: Judged, axle: str, angle: str, third: str) -> str:
        """`left out, difference near`, `in`: in full where there is room."""
        cells = [(side, side, angle) for side in SIDES if angle]
        if third:
            cells.append(("difference" if third.startswith("cross-") else "", "", third))
        found = [(name, each.of(axle, side, what)) for name, side, what in cells]
        bad = [(name, one) for name, one in found if one and one.verdict in ("out", "near")]
        absent = any(one and one.verdict == "missing" for _, one in found)
        lost = [side for side in SIDES if absent and angle and each.value(axle, side, angle) is None]
        one_lost = [f"{lost[0]} not measured"] if len(lost) == 1 else []
        if bad and self.look.width >= WIDE and len(self.judged) == 1:
            return "; ".join(
                [*(f"{name} {one.verdict}: {one.words}".strip() for name, one in bad), *one_lost]
            )
        if bad:
            return ", ".join([*(f"{name} {one.verdict}".strip() for name, one in bad), *one_lost])
        if any(one and one.verdict == "in" for _, one in found):
            return ", ".join(["in", *one_lost])
        if absent:
            return one_lost[0] if one_lost else "not measured"
        if any(one for _, one in found) and self.sheets.specification.rows:
            return "no figure given"
        return ""

    def _allowed(self, axle: str, angle: str, third: str) -> str:
        name = angle or third
        told = self.sheets.specification.of(axle, name)
        parts = [_range(told, name, self.shown)] if told.has_range else []
        if told.nominal is not None:
            parts.append(f"nominal {self.shown.value(told.nominal, name)}")
        cross = told.cross
        if cross is not None:
            parts.append(f"sides differ by {self.shown.angle(cross, plus=False)} at most")
        if told.adjustable is not None:
            parts.append("can be set" if told.adjustable else "cannot be set")
        return (
            ("allowed: " if told.has_range or cross is not None else "") + ", ".join(parts) if parts else ""
        )


def _range(told: Allowed, name: str, shown: Shown) -> str:
    if told.low is None and told.high is not None:
        return f"up to {shown.value(told.high, name)}"
    if told.high is None and told.low is not None:
        return f"from {shown.value(told.low, name)}"
    assert told.low is not None and told.high is not None
    return f"{shown.value(told.low, name)} to {shown.value(told.high, name)}"
