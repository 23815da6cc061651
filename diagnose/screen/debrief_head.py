"""The questions about a drive as a whole: asked last, since what was felt fades first."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from diagnose.errors import InputError
from diagnose.units import parse_distance

__all__ = ["HEAD", "Question"]


@dataclass(frozen=True)
class Question:
    """One question. field: of the Drive. read: from the typed line to its value. Raises InputError."""

    field: str
    prompt: str
    read: Callable[[str], Any]
    help: str


def _one_of(words: Mapping[str, str]) -> Callable[[str], str]:
    """Reads one of these words, or its first letters; Enter is the first of them."""

    def read(text: str) -> str:
        said = "-".join(text.lower().split())
        if not said:
            return next(iter(words.values()))
        found = {value for word, value in words.items() if word.startswith(said)}
        if len(found) != 1:
            known = ", ".join(word for word in words if word)
            raise InputError(f"{text[:40]!r} is none of these: type {known}, or Enter")
        return found.pop()

    return read


def _km(text: str) -> float | None:
    return parse_distance(text) if text else None


#: In the order in which they are asked.
HEAD = (
    Question("car", "the car, in a word or two >", str, "A name, such as a plate's last digits."),
    Question("when", "when was it driven? >", str, "Any words: 3 May, morning."),
    Question("who", "who drove? >", str, "Any name or letter; the same driver twice scatters less."),
    Question("km", "km at the start >", _km, "Such as 143200, or 89000 miles."),
    Question(
        "pressures",
        "tyre pressures set before? y, n, Enter: not known >",
        _one_of({"": "unknown", "yes": "set", "no": "not-set"}),
        "Set to the maker's figures, cold, before the drive: y or n.",
    ),
    Question("load", "load, persons >", str, "Any words: driver and one passenger."),
    Question(
        "road",
        "the road: dry, damp, wet, Enter: not known >",
        _one_of({"": "unknown", "dry": "dry", "damp": "damp", "wet": "wet"}),
        "dry, damp or wet.",
    ),
    Question("weather", "weather, wind >", str, "Any words: still air, gusts from the left."),
    Question(
        "reference",
        "compared with: before (this car), good (another), Enter: nothing >",
        _one_of({"": "none", "before": "same-car-before", "good": "good-car"}),
        "before: the same car was driven before. good: a car known to be good was driven beside it.",
    ),
)
