"""Questions about a sheet: values that make little sense, what they could be instead, sums that do not fit.

They question and never refuse: a strange value is kept as it was typed. What is believable at all is own
judgement, wider than any specification; inside of it only a value that is out of its specification, and would
be in it as something else, is questioned.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from diagnose.angles.derive import derived
from diagnose.angles.entries import Entries
from diagnose.angles.mirror import mirrored
from diagnose.angles.sheet import AXLES, SIDES, Sheet, Sheets, Spot, When
from diagnose.angles.show import Shown
from diagnose.errors import InputError, Place
from diagnose.geometry.toe import toe_angle
from diagnose.geometry.typed import parse_typed

__all__ = ["Doubt", "doubts", "value_doubts"]

#: What is believable at all, degrees, by the name of a value; lengths in metres.
_BELIEVABLE = {
    "camber": (-10.0, 10.0),
    "caster": (-3.0, 15.0),
    "inclination": (0.0, 25.0),
    "included": (0.0, 30.0),
    "toe": (-3.0, 3.0),
    "total-toe": (-5.0, 5.0),
    "thrust": (-2.0, 2.0),
    "set-back": (-2.5, 2.5),
    "rim": (-90.0, 90.0),
    "set-back-length": (-0.06, 0.06),
    "height": (0.05, 1.2),
}

#: From here toe may be a reading in another unit (rad); below, such a mistake cannot be told from a toe.
_OTHER_UNIT = math.radians(1.0)

#: Within what sums agree: three values, each rounded to a minute, and half a minute to spare (rad).
_ROUNDED = math.radians(2.0 / 60.0)

#: Values of which the same or the mirrored ones, before and after, are no accident.
_ENOUGH = 4


@dataclass(frozen=True, slots=True)
class Doubt:
    """One question. instead: what it could be, in words. place: where it stands in the file, if in one."""

    when: When
    spot: Spot
    question: str
    instead: tuple[str, ...] = ()
    place: Place | None = field(default=None, compare=False)

    @property
    def words(self) -> str:
        """The whole as one text."""
        return self.question + (f" It could be {', or '.join(self.instead)}." if self.instead else "")


def doubts(sheets: Sheets, sources: Entries | None = None, shown: Shown | None = None) -> tuple[Doubt, ...]:
    """Every question about the sheets of a file. sources: the texts behind the values, for their places."""
    texts = sources or {}
    found: list[Doubt] = []
    for sheet in sheets.both():
        how = shown or Shown(sheets.units, sheet.car.toe_at)
        for spot, value in sheet.values():
            node = texts.get(_name(sheet.when, spot))
            found += value_doubts(sheet, spot, value, node.text if node else "", how)
        found += _sums(sheet, how)
    if sheets.before is not None and sheets.after is not None:
        found += _compared(sheets.before, sheets.after)
    return tuple(replace(doubt, place=_place(doubt, texts)) for doubt in found)


def value_doubts(
    sheet: Sheet, spot: Spot, value: float, text: str = "", shown: Shown | None = None
) -> tuple[Doubt, ...]:
    """Questions about one value (rad or m) at its place on the sheet. text: how it was typed, if known."""
    how = shown or Shown(toe_at=sheet.car.toe_at)
    return tuple(Doubt(sheet.when, spot, *each) for each in _Value(sheet, spot, value, text, how).questions())


def _name(when: str, spot: Spot) -> str:
    """The name of the value in a file, where a set-back of either kind is a set-back."""
    return f"{when}/{spot.path.removesuffix('-length')}"


def _place(doubt: Doubt, texts: Entries) -> Place | None:
    node = texts.get(_name(doubt.when, doubt.spot))
    return node.place if node else None


# One value ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Value:
    sheet: Sheet
    spot: Spot
    value: float
    text: str
    shown: Shown

    def questions(self) -> Iterator[tuple[str, tuple[str, ...]]]:
        what = f"{self.spot.words} {self._said(self.value)}"
        low, high = self._believable()
        if self.spot.angle == "caster" and self.spot.axle == "rear":
            yield f"{what}: caster is of steered wheels; was it read at the front?", ()
        elif not low <= self.value <= high:
            limits = f"{self._said(low)} to {self._said(high)}"
            yield f"{what} is outside of {limits}, where road cars stand: is it right?", self._instead()
        elif self._out():
            instead = self._instead()
            if instead:
                yield (
                    f"{what} is out of its range: is it right?",
                    instead,
                )
        minutes = re.fullmatch(r"\s*[-+−]?\s*(\d+(?:[.,]\d*)?)\s*(?:'|′|’|min)\s*", self.text)
        if minutes and float(minutes[1].replace(",", ".")) >= 60.0:
            yield (
                f"{self.spot.words} has 60 minutes or more, {self._said(self.value)} in all: is it right?",
                (),
            )

    def _said(self, value: float) -> str:
        return self.shown.value(value, self.spot.angle)

    def _believable(self) -> tuple[float, float]:
        low, high = _BELIEVABLE[self.spot.angle]
        return (low, high) if self.spot.is_length else (math.radians(low), math.radians(high))

    def _out(self) -> bool:
        """True if the value is further out of its range than a reading may err."""
        return not any(self._fits(self.value + by) for by in (0.0, -self._err(), self._err()))

    def _err(self) -> float:
        known = self.sheet.repeatability
        return 0.002 if self.spot.is_length else getattr(known, self.spot.angle, known.toe)

    def _fits(self, value: float) -> bool:
        low, high = self._believable()
        allowed = self.sheet.specification.of(self.spot.axle, self.spot.angle)
        return low <= value <= high and allowed.holds(value)

    def _instead(self) -> tuple[str, ...]:
        """What the value could be instead: all that is allowed, or else all that is believable."""
        found = list(self._candidates())
        low, high = self._believable()
        fitting = [each for each in found if self._fits(each[0])]
        if not fitting and not low <= self.value <= high:
            fitting = [each for each in found if low <= each[0] <= high]
        return tuple(dict.fromkeys(f"{self._said(value)} ({why})" for value, why in fitting))

    def _candidates(self) -> Iterator[tuple[float, str]]:
        angle, value = self.spot.angle, self.value
        if angle in ("toe", "total-toe", "camber", "caster", "thrust"):
            yield -value, "the other sign"
        decimal = re.fullmatch(r"\s*([-+−]?)\s*(\d+)[.,](\d\d)\s*°?\s*", self.text)
        if decimal and int(decimal[3]) < 60:
            size = math.radians(int(decimal[2]) + int(decimal[3]) / 60.0)
            yield math.copysign(size, value), "degrees and minutes typed with a point"
        if angle in ("toe", "total-toe"):
            yield from self._other_units(value, 2.0 if angle == "total-toe" else 1.0)
        elif angle == "set-back":
            yield value / 60.0, "minutes typed as degrees"
            if self.sheet.car.front_track is not None:
                number = math.degrees(value)
                yield math.atan(number * 0.001 / self.sheet.car.front_track), f"{number:.4g} mm"
        elif not self.spot.is_length and angle != "rim":
            if abs(value) >= math.radians(10.0) or angle == "thrust":
                yield value / 60.0, "minutes typed as degrees"
            if abs(value) >= math.radians(5.0):
                yield value / 10.0, "a decimal point left out"
        elif angle == "set-back-length":
            yield value / 25.4, "millimetres typed as inches"
            yield value / 10.0, "millimetres typed as centimetres"
        elif angle == "height":
            yield value / 25.4, "millimetres typed as inches"
            yield value * 25.4, "inches typed as millimetres"
            yield value * 10.0, "centimetres typed as millimetres"

    def _other_units(self, value: float, wheels: float) -> Iterator[tuple[float, str]]:
        """Toe in another unit: 60 between degrees and minutes, 25.4 between inches and millimetres."""
        is_length = _is_length(self.text)
        if "mm" in self.text:
            yield value * 25.4, "inches typed as millimetres"
        elif (is_length or not self.text) and abs(value) >= _OTHER_UNIT:
            yield value / 25.4, "millimetres typed as inches"
        if is_length or abs(value) < _OTHER_UNIT * wheels:
            return
        yield value / 60.0, "minutes typed as degrees"
        if self.sheet.car.toe_at is not None:
            number = math.degrees(value)
            try:
                as_length = wheels * toe_angle(number / wheels * 0.001, self.sheet.car.toe_at)
            except InputError:
                return
            yield as_length, f"{number:.4g} mm"


def _is_length(text: str) -> bool:
    """True for a text that says a length."""
    try:
        return parse_typed(text).kind == "length"
    except InputError:
        return False


# Sums and sheets ----------------------------------------------------------------------------------


def _sums(sheet: Sheet, shown: Shown) -> Iterator[Doubt]:
    """Values that are given and also follow from others, and do not agree."""
    bare = sheet
    for spot in (Spot("rear", "", "thrust"), *(Spot(axle, "", "total-toe") for axle in AXLES)):
        bare = bare.with_value(spot, None)
    for side in SIDES:
        bare = bare.with_value(Spot("front", side, "included"), None)
    figures = derived(bare)
    pairs = [
        (Spot("front", "", "total-toe"), figures.total_toe_front.value, "left and right together"),
        (Spot("rear", "", "total-toe"), figures.total_toe_rear.value, "left and right together"),
        (Spot("front", "left", "included"), figures.included_left.value, "inclination and camber together"),
        (Spot("front", "right", "included"), figures.included_right.value, "inclination and camber together"),
    ]
    for spot, computed, how in pairs:
        given = sheet.value(spot)
        if given is not None and computed is not None and abs(given - computed) > _ROUNDED:
            said = f"{shown.value(given, spot.angle)} is given"
            made = f"{how} make {shown.value(computed, spot.angle)}"
            yield Doubt(sheet.when, spot, f"{spot.words} {said}, but {made}: which of them is misread?")
    if sheet.thrust is not None and figures.thrust.value is not None:
        yield from _thrust(sheet, sheet.thrust, figures.thrust.value, shown)


def _thrust(sheet: Sheet, given: float, computed: float, shown: Shown) -> Iterator[Doubt]:
    if abs(given - computed) <= _ROUNDED:
        return
    spot = Spot("rear", "", "thrust")
    half = f"half of left less right rear toe is {shown.angle(computed)}"
    question = f"thrust angle {shown.angle(given)} is given, but {half}: which of them is misread?"
    instead: tuple[str, ...] = ()
    if abs(given + computed) <= _ROUNDED:
        instead = (
            f"{shown.angle(computed)} (a sheet that counts thrust to the left)",
            "left and right rear toe swapped",
        )
    elif abs(given - 2.0 * computed) <= _ROUNDED:
        instead = (f"{shown.angle(computed)} (the difference was given, not half of it)",)
    yield Doubt(sheet.when, spot, question, instead)


def _compared(before: Sheet, after: Sheet) -> Iterator[Doubt]:
    """Before and after the same, or each other's mirror image."""
    nowhere = Spot("", "", "")
    one, other = dict(before.values()), dict(after.values())
    shared = one.keys() & other.keys()
    if len(shared) < _ENOUGH:
        return
    if all(one[spot] == other[spot] for spot in shared):
        question = (
            f"all {len(shared)} values that are there before and after are the same: were they read again?"
        )
        yield Doubt("after", nowhere, question)
        return
    image = dict(mirrored(after).values())
    sided = [spot for spot in one.keys() & image.keys() if spot.side]
    if len(sided) >= _ENOUGH and all(one[spot] == image[spot] for spot in sided):
        question = (
            f"all {len(sided)} values after are those before with left and right swapped: "
            "was one of the readings taken from the other end of the car?"
        )
        yield Doubt("after", nowhere, question)
