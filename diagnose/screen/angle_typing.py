"""A wheel-angle sheet typed at the terminal, reading by reading: each is echoed, and questioned if doubtful.

Enter skips a reading, `u` takes the last one back, `q` stops. After each answer the whole sheet is handed to
`keep`, so that nothing typed is lost however the session ends.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from diagnose.angles.doubts import value_doubts
from diagnose.angles.entries import read_value
from diagnose.angles.judge import NEAR, judged
from diagnose.angles.order import EXAMPLES, READING_ORDER
from diagnose.angles.sheet import Car, Sheet, Sheets, Spot, When
from diagnose.angles.show import Shown
from diagnose.errors import InputError
from diagnose.geometry.typed import parse_length, parse_typed
from diagnose.screen.angles import MARKS, STYLES
from diagnose.screen.desk import Desk
from diagnose.screen.pages import paragraph

__all__ = ["type_sheet"]

Keep = Callable[[Sheets], None]


class _Stop(Exception):
    """The user has had enough."""


class _Back(Exception):
    """The last reading is to be taken back."""


def type_sheet(desk: Desk, sheets: Sheets, when: When, keep: Keep) -> Sheets:
    """Ask for every reading of one measurement that is not there yet; the sheets with what was typed.

    keep: called with all sheets after each answer. The end of the input and Ctrl-C stop like `q`.
    """
    return _Typing(desk, sheets, when, keep).run()


@dataclass
class _Typing:
    desk: Desk
    sheets: Sheets
    when: When
    keep: Keep
    done: list[tuple[Spot, Sheets]] = field(default_factory=list)
    #: With a doubtful value that is neither kept nor typed again yet.
    pending: Sheets | None = None

    def run(self) -> Sheets:
        """The dialogue, until the last reading or `q`."""
        todo = [spot for spot in READING_ORDER if not self._there(spot)]
        self._say("Enter skips a reading, u takes the last back, ? shows how to write it, q stops.", "dim")
        if not todo:
            self._say(f"Every reading {self.when} is there already.")
        at = 0
        try:
            while at < len(todo):
                spot = todo[at]
                try:
                    sheets = self._ask(spot, at + 1, len(todo))
                except _Back:
                    at = self._take_back(at)
                    continue
                self.done.append((spot, self.sheets))
                self.sheets = sheets
                self.keep(sheets)
                at += 1
        except (_Stop, EOFError, KeyboardInterrupt):
            # A doubtful value that was not typed again stands as it was typed.
            self.sheets = self.pending or self.sheets
            self._say("Stopped.")
        self.keep(self.sheets)
        return self.sheets

    def _sheet(self) -> Sheet:
        """The measurement that is being typed."""
        one = self.sheets.before if self.when == "before" else self.sheets.after
        known = self.sheets
        return one or Sheet(
            self.when, car=known.car, specification=known.specification, repeatability=known.repeatability
        )

    def _there(self, spot: Spot) -> bool:
        names = ("set-back", "set-back-length") if spot.angle == "set-back" else (spot.angle,)
        return any(self._sheet().value(replace(spot, angle=name)) is not None for name in names)

    def _take_back(self, at: int) -> int:
        if not self.done:
            self._say("Nothing to take back: this is the first reading.")
            return at
        spot, self.sheets = self.done.pop()
        self.keep(self.sheets)
        self._say(f"Taken back: {spot.words}.")
        return at - 1

    def _ask(self, spot: Spot, number: int, of: int) -> Sheets:
        """The sheets with this reading, or without it if it is skipped."""
        prompt = f"{number}/{of} {spot.words} >"
        while True:
            text = self._line(prompt)
            if text == "?":
                self._say(f"{spot.words}: write it like {EXAMPLES[spot.angle]}.")
                continue
            if not text:
                return self.sheets
            try:
                found = self._take(spot, text)
            except InputError as error:
                self._say(str(error))
                continue
            if found is not None:
                return found

    def _line(self, prompt: str) -> str:
        text = self.desk.ask(prompt).strip()
        if text.lower() in ("q", "quit"):
            raise _Stop
        if text.lower() in ("u", "undo"):
            raise _Back
        return text

    def _take(self, spot: Spot, text: str) -> Sheets | None:
        """The sheets with what was typed; None if it is to be typed again. Raises InputError."""
        while True:
            sheets = self._diameter(spot, text)
            if sheets is None:
                return None
            angle, value = read_value(text, spot.angle, sheets.car.toe_at)
            at = replace(spot, angle=angle)
            sheet = replace(self._sheet(), car=sheets.car).with_value(at, value)
            shown = Shown(sheets.units, sheets.car.toe_at, not self.desk.look.unicode)
            self._echo(sheet, at, value, shown)
            doubts = value_doubts(sheet, at, value, text, shown)
            told = replace(sheets, before=sheet) if self.when == "before" else replace(sheets, after=sheet)
            if not doubts:
                return told
            for doubt in doubts:
                self._say("? " + doubt.words, "yellow")
            self.pending = told
            self.keep(told)
            try:
                again = self._line("Enter keeps it; or type it again >")
            except _Back:
                self.pending = None
                return None
            self.pending = None
            if not again:
                return told
            if again == "?":
                self._say(f"{spot.words}: write it like {EXAMPLES[spot.angle]}.")
                return None
            text = again

    def _diameter(self, spot: Spot, text: str) -> Sheets | None:
        """The sheets with the diameter that toe as a length needs; None if nobody knows it."""
        if spot.angle != "toe" or self.sheets.car.toe_at is not None or parse_typed(text).kind != "length":
            return self.sheets
        self._say("Toe as a length means another angle on each rim.")
        while True:
            typed = self._line("At which diameter was it taken, such as 16 in? Enter: not known >")
            if not typed:
                self._say("Then give toe as an angle, or skip it.")
                return None
            try:
                if re.fullmatch(r"\d{2}", typed):
                    typed += " in"  # a bare 16 is a rim of 16 inches: there is no other reading of it
                diameter = parse_length(typed, 2.0)
                if diameter < 0.1:
                    raise InputError(f"{typed} is neither a rim nor a tyre: write it like 16 in or 620 mm")
            except InputError as error:
                self._say(str(error))
                continue
            return _with_car(self.sheets, replace(self.sheets.car, toe_at=diameter))

    def _echo(self, sheet: Sheet, spot: Spot, value: float, shown: Shown) -> None:
        """What was understood, in the units of the workshop, with its verdict where there is one."""
        said = shown.value(value, spot.angle)
        found = next((each for each in judged(sheet, shown) if each.spot == spot), None)
        verdict = found.verdict if found else "no figure"
        if found is not None and verdict in ("in", "near", "out"):
            more = f"; {NEAR}" if verdict == "near" else ""
            said += f" {MARKS.get(verdict, '')} {verdict}: {found.words}{more}"
        self._say("= " + " ".join(said.split()), STYLES.get(verdict, ""))

    def _say(self, text: str, style: str = "") -> None:
        self.desk.show(paragraph(text, self.desk.look, 2, style))


def _with_car(sheets: Sheets, car: Car) -> Sheets:
    """The sheets of the same measurements with more known of the car."""

    def one(sheet: Sheet | None) -> Sheet | None:
        return None if sheet is None else replace(sheet, car=car)

    return replace(sheets, car=car, before=one(sheets.before), after=one(sheets.after))
