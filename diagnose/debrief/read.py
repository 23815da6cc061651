"""A debrief from a file: YAML of our own, every fault with its place, all of them at once.

docs/debrief.md describes every key.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace

from diagnose.debrief.drive import (
    LONGEST,
    PRESSURES,
    REFERENCES,
    ROADS,
    SIDES,
    Drive,
    Impression,
    Leg,
    leg_of,
)
from diagnose.debrief.naming import name_complaint
from diagnose.debrief.route import ROUTE
from diagnose.debrief.scale import answer, parse_rating, rating_words
from diagnose.debrief.shows import is_control
from diagnose.errors import DebriefError, InputError, Problem
from diagnose.library.nearest import suggest
from diagnose.library.shapes import (
    Choice,
    Identifier,
    Key,
    ListOf,
    Number,
    Row,
    Text,
    is_number,
    optional,
)
from diagnose.library.text import Mapping, Node, Scalar, entries, read
from diagnose.model.library import Library
from diagnose.model.story import ANSWERS
from diagnose.units import MOST_KM

__all__ = ["NO_COMPLAINT", "SHAPE", "parse_speed", "read_data", "read_drive"]

#: What stands for words that are no complaint of the library.
NO_COMPLAINT = "none"

_TEXT = Text(LONGEST)
_NOTICED = Row(
    "an impression",
    {
        "words": optional(_TEXT),
        "complaint": optional(Identifier()),
        "side": optional(Choice(SIDES)),
        "rating": optional(Text(40)),
        "felt": optional(Choice(ANSWERS)),
        "began": optional(_TEXT),
    },
    some_of=(("words", "complaint"),),
)
_LEG = Row(
    "a leg",
    {
        "leg": Key(Choice(tuple(ROUTE))),
        "surface": optional(_TEXT),
        "speed": optional(Text(40)),
        "manoeuvre": optional(_TEXT),
        "noticed": optional(ListOf(_NOTICED, most=40)),
    },
)
#: A whole file.
SHAPE = Row(
    "a debrief",
    {
        "debrief": Key(Choice(("1",))),
        "car": optional(_TEXT),
        "when": optional(_TEXT),
        "who": optional(_TEXT),
        "km": optional(Number(0, MOST_KM, unit="kilometres")),
        "pressures": optional(Choice(PRESSURES)),
        "load": optional(_TEXT),
        "weather": optional(_TEXT),
        "road": optional(Choice(ROADS)),
        "reference": optional(Choice(tuple(REFERENCES))),
        "legs": Key(ListOf(_LEG, most=60)),
    },
)


def read_drive(library: Library, data: bytes, file: str) -> Drive:
    """The drive in the bytes of a file. Raises DebriefError with every problem found.

    file: its name for messages. Words without a complaint are taken for the complaint that they sound most
    like, if any; `complaint: none` keeps them as they are.
    """
    root, problems = read(data, file)
    if root is None:
        raise DebriefError(problems)
    SHAPE.check(root, "the file", problems)
    misshapen = {problem.place for problem in problems}
    reader = _Reader(library)
    drive = reader.drive(root) if isinstance(root, Mapping) else Drive()
    problems += [problem for problem in reader.problems if problem.place not in misshapen]
    if problems:
        raise DebriefError(problems)
    return drive


def read_data(library: Library, data: object, name: str = "the debrief") -> Drive:
    """The drive that `drive_data` gave. Raises DebriefError, as for what a newer library does not know."""
    return read_drive(library, json.dumps(data, ensure_ascii=False).encode("utf-8", "replace"), name)


def parse_speed(text: str) -> tuple[float, float]:
    """Low and high (km/h) of `60-90`, `60 to 90 km/h` or `80`. Raises InputError."""
    said = " ".join(text.lower().split()).removesuffix("km/h").removesuffix("kmh").strip()
    number = r"([0-9]{1,3}(?:[.,][0-9])?)"
    found = re.fullmatch(rf"{number}(?: ?(?:-|–|to) ?{number})?", said)
    if not found:
        raise InputError(f"{' '.join(text.split())[:40]!r} is not a speed: write km/h like 60-90 or 80")
    low, high = (float((part or found[1]).replace(",", ".")) for part in found.groups())
    if low > high:
        raise InputError(f"the speed runs from {low:g} down to {high:g}: write the lower one first")
    if high > 300.0:
        raise InputError(f"{high:g} km/h is not a speed of a road test: write km/h like 60-90")
    return low, high


class _Reader:
    def __init__(self, library: Library) -> None:
        self.library = library
        self.problems: list[Problem] = []

    def drive(self, root: Mapping) -> Drive:
        km = root.get("km")
        return Drive(
            _text(root.get("car")),
            _text(root.get("when")),
            _text(root.get("who")),
            float(km.text) if isinstance(km, Scalar) and is_number(km.text) else None,
            _text(root.get("pressures")) or "unknown",
            _text(root.get("load")),
            _text(root.get("weather")),
            _text(root.get("road")) or "unknown",
            _text(root.get("reference")) or "none",
            tuple(self._leg(entry) for entry in entries(root.get("legs"))),
        )

    def _leg(self, entry: Mapping) -> Leg:
        kind = _text(entry.get("leg"))
        # One of an unknown kind has been told; what it holds is read all the same.
        leg = leg_of(kind if kind in ROUTE else next(iter(ROUTE)))
        speed = entry.get("speed")
        if isinstance(speed, Scalar) and speed.text.strip():
            try:
                low, high = parse_speed(speed.text)
                leg = replace(leg, low=low, high=high)
            except InputError as error:
                self._told(speed, error)
        return replace(
            leg,
            surface=_text(entry.get("surface")) or leg.surface,
            manoeuvre=_text(entry.get("manoeuvre")) or leg.manoeuvre,
            noticed=tuple(self._impression(one, leg.kind) for one in entries(entry.get("noticed"))),
        )

    def _impression(self, entry: Mapping, kind: str) -> Impression:
        words = _text(entry.get("words"))
        complaint = self._complaint(entry, words, kind)
        side = _text(entry.get("side")) or None
        if side and complaint and not self.library.complaints[complaint].sided:
            at = entry.key("side") or entry
            self.problems.append(
                at.problem(f"complaint {complaint!r} has no side", "delete the line with `side`")
            )
        rating = self._rating(entry.get("rating"))
        felt = _text(entry.get("felt"))
        if rating is not None and felt in ANSWERS:
            self._agree(entry, rating, felt, is_control(complaint))
        return Impression(words, complaint, side, rating, felt, _text(entry.get("began")))

    def _complaint(self, entry: Mapping, words: str, kind: str) -> str | None:
        told = entry.get("complaint")
        name = _text(told)
        if isinstance(told, Scalar) and name not in self.library.complaints and name != NO_COMPLAINT:
            otherwise = "`diagnose trees` lists them all; write none if it is none of them"
            mend = suggest(name, self.library.complaints, otherwise)
            self.problems.append(told.problem(f"there is no complaint {name!r}", mend))
        if told is not None:
            return name if name in self.library.complaints else None
        found = name_complaint(self.library, words, kind) if words else []
        return found[0].complaint if found else None

    def _rating(self, node: Node | None) -> float | None:
        if not isinstance(node, Scalar) or not node.text.strip():
            return None
        try:
            return parse_rating(node.text)
        except InputError as error:
            self._told(node, error)
            return None

    def _agree(self, entry: Mapping, rating: float, felt: str, control: bool) -> None:
        """Refuse a rating and an answer that say the contrary of each other."""
        says = answer(rating, control)
        if {says, felt} & {"yes", "probably"} and {says, felt} & {"no", "probably-not"}:
            at = entry.key("felt") or entry
            wrong = f"rated {rating:g} ({rating_words(rating, control)}) and felt: {felt} exclude each other"
            self.problems.append(at.problem(wrong, f"keep one of them; the rating alone says {says}"))

    def _told(self, node: Scalar, error: InputError) -> None:
        wrong, _, mend = str(error).partition(": ")
        self.problems.append(node.problem(wrong, mend))


def _text(node: Node | None) -> str:
    return " ".join(node.text.split()) if isinstance(node, Scalar) else ""
