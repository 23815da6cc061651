"""Words as they are shown: what likelihood is called, places, and text that does no harm to a terminal.

One fixed scale of words for likelihood; a word never stands without its number.

The bands follow the calibrated language of the IPCC (seen in a guidance page): virtually certain above
99, very likely above 90, likely above 66, as likely as not from 33, unlikely, very unlikely, exceptionally
unlikely below 1 of 100.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Literal

__all__ = [
    "AS_LIKELY_AS_NOT",
    "FELL",
    "OUT",
    "SHOWN",
    "Stands",
    "harmless",
    "likelihood",
    "of_100",
    "place_name",
    "stands",
    "stands_words",
    "work_name",
]

# Control characters but the end of a line, marks that turn the direction of writing, the line ends that only
# some programs count, and halves of characters, which no encoding takes (Unicode: Cc, Zl, Zp, Cs, and the
# explicit directional formatting of UAX 9).
_HARMFUL = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]"
)

#: From here on something is as likely as not, and more.
AS_LIKELY_AS_NOT = 0.33

#: What is below this in 0..1 both before and after is not told of one by one: 4 of 100 such cars.
SHOWN = 0.04

#: As good as ruled out: below this now, and this part or less of what it was before.
OUT, FELL = 0.03, 1.0 / 3.0

#: Likelier, less likely: by this factor, and by this much besides.
_FACTOR, _MORE = 1.5, 0.01

#: How something stands after it was looked into.
Stands = Literal["leads", "open", "out"]

_BANDS = (
    (0.99, "virtually certain"),
    (0.90, "very likely"),
    (0.66, "likely"),
    (AS_LIKELY_AS_NOT, "as likely as not"),
    (0.10, "unlikely"),
    (0.01, "very unlikely"),
)


def harmless(text: str, instead: str | Callable[[re.Match[str]], str] = "\ufffd") -> str:
    """The text with `instead` for each character that could drive a terminal or turn what is read there."""
    return _HARMFUL.sub(instead, text) if _HARMFUL.search(text) else text


def likelihood(p: float) -> str:
    """The word for a probability in [0, 1]."""
    for least, word in _BANDS:
        if p > least:
            return word
    return "exceptionally unlikely"


def stands(before: float, now: float) -> Stands:
    """Whether it leads to the complaint now, is as good as ruled out, or is open still; both in [0, 1].

    Only what once stood at `SHOWN` can be ruled out: of the rest nobody thought.
    """
    if before >= SHOWN and now < OUT and now <= before * FELL:
        return "out"
    return "leads" if now > AS_LIKELY_AS_NOT else "open"


def stands_words(before: float, now: float) -> str:
    """How it stands, in words, with the way it went where it is open."""
    how = stands(before, now)
    if how != "open":
        return {"leads": "leads to it", "out": "as good as ruled out"}[how]
    if now >= _FACTOR * before + _MORE:
        return "likelier"
    if now * _FACTOR + _MORE <= before:
        return "less likely"
    return "still open"


def of_100(p: float) -> str:
    """How many of 100 such cars: whole numbers; `<1` and `>99` at the ends, for nothing is certain."""
    if p <= 0.005:
        return "<1"
    if p >= 0.995:
        return ">99"
    return str(round(100.0 * p))


def place_name(position: str | None) -> str:
    """A position in words: `front left`; empty for the whole car and for the centre."""
    if position is None or position == "centre":
        return ""
    return position.replace("-", " ")


def work_name(name: str, place: str) -> str:
    """The name of a remedy with its place, such as `renew the tie rod, front right`; the car has none."""
    where = "" if place == "car" else place_name(place)
    return f"{name}, {where}" if where else name
