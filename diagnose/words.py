"""Words as they are shown: what likelihood is called, places, and text that does no harm to a terminal.

One fixed scale of words for likelihood; a word never stands without its number.

The bands follow the calibrated language of the IPCC (seen in a guidance page): virtually certain above
99, very likely above 90, likely above 66, as likely as not from 33, unlikely, very unlikely, exceptionally
unlikely below 1 of 100.
"""

from __future__ import annotations

import re
from collections.abc import Callable

__all__ = ["harmless", "likelihood", "of_100", "place_name", "work_name"]

# Control characters but the end of a line, marks that turn the direction of writing, the line ends that only
# some programs count, and halves of characters, which no encoding takes (Unicode: Cc, Zl, Zp, Cs, and the
# explicit directional formatting of UAX 9).
_HARMFUL = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]"
)

_BANDS = (
    (0.99, "virtually certain"),
    (0.90, "very likely"),
    (0.66, "likely"),
    (0.33, "as likely as not"),
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
