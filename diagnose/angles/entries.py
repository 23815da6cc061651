"""From named texts of a file to a sheet: what cannot be read is told at its place.

A name is a path such as `before/front/left/camber` or `specification/rear/toe/low`, whatever the format of
the file. Each text is a node that knows its place.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from diagnose.angles.sheet import (
    AXLES,
    LENGTHS,
    SPECIFIED,
    UNITS,
    Allowed,
    Car,
    Repeatability,
    Sheet,
    Sheets,
    Specification,
    Spot,
    Units,
    When,
    spots,
)
from diagnose.errors import InputError, Problem
from diagnose.geometry.toe import toe_angle
from diagnose.geometry.typed import parse_angle, parse_length, parse_typed
from diagnose.library.text import Scalar

__all__ = ["Entries", "Reading", "build", "is_blank", "kept", "read_value"]

#: Name -> the text there.
Entries = Mapping[str, Scalar]


@dataclass(frozen=True, slots=True)
class Reading:
    """What a file holds, and the text behind each value by its name, for messages about it."""

    sheets: Sheets
    sources: Entries


def is_blank(text: str) -> bool:
    """True for what stands where nothing was measured: nothing, a hyphen, a question mark."""
    return text.strip() in ("", "-", "?")


def read_value(text: str, angle: str, toe_at: float | None) -> tuple[str, float]:
    """The name of the value and the value, from its text: a set-back may turn out to be a length.

    toe_at: the diameter (m) at which toe as a length was taken. Raises InputError with how to write it.
    Kept to 1e-10 rad and 1e-9 m, so that what is written back in another form reads the same.
    """
    name, value = _value(text, angle, toe_at)
    return name, kept(value, name)


def kept(value: float, angle: str) -> float:
    """The value (rad or m) as far as it is kept."""
    return round(value, 9 if angle in LENGTHS else 10)


def _value(text: str, angle: str, toe_at: float | None) -> tuple[str, float]:
    if angle == "height":
        return angle, parse_length(text, 3.0)
    if angle == "set-back":
        found = parse_typed(text)
        if found.kind == "length":
            return "set-back-length", parse_length(text, 1.0)
    if angle in ("toe", "total-toe"):
        return angle, _toe(text, 2.0 if angle == "total-toe" else 1.0, toe_at)
    if angle == "rim":
        return angle, parse_angle(text, math.radians(720.0))
    return angle, parse_angle(text)


def _toe(text: str, wheels: float, toe_at: float | None) -> float:
    """Toe of one wheel, or of two together of which each has half."""
    found = parse_typed(text)
    if found.kind == "angle":
        return parse_angle(text)
    if toe_at is None:
        raise InputError(
            "toe as a length means another angle on each rim: say toe-at too, such as 16 in, or give an angle"
        )
    return wheels * toe_angle(found.value / wheels, toe_at)


def build(entries: Entries, problems: list[Problem]) -> Reading:
    """The sheets of the entries. What cannot be read is added to `problems` and left out."""
    return _Builder(entries, problems).reading()


class _Builder:
    def __init__(self, entries: Entries, problems: list[Problem]) -> None:
        self.entries = entries
        self.problems = problems
        self.toe_at: float | None = None

    def reading(self) -> Reading:
        self.toe_at = self._length("toe-at", 0.1, 2.0)
        car = Car(
            self._text("car/name"),
            self._text("car/front"),
            self._text("car/rear"),
            self._length("car/wheelbase", 1.0, 8.0),
            self._length("car/front-track", 0.8, 3.0),
            self._length("car/rear-track", 0.8, 3.0),
            self.toe_at,
        )
        repeatability = self._repeatability()
        specification = self._specification()
        empty = Sheet(car=car, specification=specification, repeatability=repeatability)
        before, after = self._sheet("before", empty), self._sheet("after", empty)
        units: Units = next((each for each in UNITS if each == self._text("units")), "minutes")
        sheets = Sheets(before, after, units, car, specification, repeatability)
        return Reading(sheets, self.entries)

    def _text(self, name: str) -> str:
        node = self.entries.get(name)
        return "" if node is None or is_blank(node.text) else " ".join(node.text.split())

    def _read(self, name: str, how: Callable[[str], float]) -> float | None:
        """The number that a text says; None where it is blank, missing or wrong, and then it is told."""
        node = self.entries.get(name)
        if node is None or is_blank(node.text):
            return None
        try:
            return how(node.text)
        except InputError as error:
            self.problems.append(_problem(node, error))
            return None

    def _length(self, name: str, low: float, high: float) -> float | None:
        def how(text: str) -> float:
            value = kept(parse_length(text), "height")
            if not low <= value <= high:
                raise InputError(
                    f"{name.rpartition('/')[2]} must be from {low * 1000:g} to {high * 1000:g} mm, "
                    f"not {value * 1000:.6g} mm: look at the reading and its unit"
                )
            return value

        return self._read(name, how)

    def _sheet(self, when: When, empty: Sheet) -> Sheet | None:
        sheet, told = replace(empty, when=when), False
        for spot in spots():
            if spot.angle == "set-back-length":
                continue  # in a file it is a set-back as well
            name = f"{when}/{spot.path}"
            told = told or name in self.entries
            kind = [spot.angle]

            def how(text: str, spot: Spot = spot, kind: list[str] = kind) -> float:
                kind[0], value = read_value(text, spot.angle, self.toe_at)
                return value

            value = self._read(name, how)
            if value is not None:
                sheet = sheet.with_value(replace(spot, angle=kind[0]), value)
        return sheet if told else None

    def _repeatability(self) -> Repeatability:
        known = Repeatability()
        for name in ("camber", "caster", "inclination", "toe"):
            value = self._size(f"repeatability/{name}", name)
            known = known if value is None else replace(known, **{name: value})
        return known

    def _size(self, name: str, angle: str) -> float | None:
        """A value that has no sign: a tolerance, a difference, a repeatability."""

        def how(text: str) -> float:
            _, value = read_value(text, angle, self.toe_at)
            if value < 0.0:
                raise InputError(f"{name.rpartition('/')[2]} is a size and has no sign: write it without -")
            return value

        return self._read(name, how)

    def _specification(self) -> Specification:
        rows = []
        for axle in AXLES:
            for angle in SPECIFIED[axle]:
                if angle != "set-back-length":
                    name, allowed = self._allowed(f"specification/{axle}/{angle}", angle)
                    rows.append((axle, name, allowed))
        return Specification(tuple(rows)).ordered()

    def _allowed(self, name: str, angle: str) -> tuple[str, Allowed]:
        kinds: dict[str, str] = {}

        def how(key: str) -> Callable[[str], float]:
            def read(text: str) -> float:
                kinds[key], value = read_value(text, angle, self.toe_at)
                return value

            return read

        low, high, nominal = (self._read(f"{name}/{key}", how(key)) for key in ("low", "high", "nominal"))
        tolerance = self._size(f"{name}/tolerance", angle)
        cross = self._size(f"{name}/cross", angle)
        said = self._text(f"{name}/adjustable")
        adjustable = None if said not in ("yes", "no") else said == "yes"
        self._consistent(name, low, high, nominal, tolerance, set(kinds.values()))
        if nominal is not None and tolerance is not None and low is None and high is None:
            low, high = kept(nominal - tolerance, angle), kept(nominal + tolerance, angle)
        kind = next(iter(kinds.values()), angle)
        return kind, Allowed(low, high, nominal, cross, adjustable)

    def _consistent(
        self,
        name: str,
        low: float | None,
        high: float | None,
        nominal: float | None,
        tolerance: float | None,
        kinds: set[str],
    ) -> None:
        """What the parts of one row must be to each other."""

        def told(key: str, wrong: str, mend: str) -> None:
            self.problems.append(self.entries[f"{name}/{key}"].problem(wrong, mend))

        if low is not None and high is not None and low > high:
            told("low", "'low' is above 'high'", "swap them; more negative is lower: -1°20' is below -0°20'")
        if tolerance is not None and (low is not None or high is not None):
            told(
                "tolerance", "'tolerance' and 'low' or 'high' exclude each other", "keep one way of saying it"
            )
        elif tolerance is not None and f"{name}/nominal" not in self.entries:
            told("tolerance", "'tolerance' has no 'nominal'", "add `nominal: ...`, or write low and high")
        if nominal is not None and not Allowed(low, high).holds(nominal):
            told("nominal", "'nominal' is not between 'low' and 'high'", "look at the three figures")
        if len(kinds) > 1:
            key = next(k for k in ("low", "high", "nominal") if f"{name}/{k}" in self.entries)
            told(
                key, "set-back is a length here and an angle there", "write both as lengths or both as angles"
            )


def _problem(node: Scalar, error: InputError) -> Problem:
    """The message of an error at its place: what is wrong before the last colon, how to mend it behind."""
    wrong, _, mend = str(error).rpartition(": ")
    return node.problem(wrong or mend, mend)
