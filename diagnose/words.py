"""One fixed scale of words for likelihood; a word never stands without its number.

The bands follow the calibrated language of the IPCC (seen in a guidance page): virtually certain above
99, very likely above 90, likely above 66, as likely as not from 33, unlikely, very unlikely, exceptionally
unlikely below 1 of 100.
"""

from __future__ import annotations

__all__ = ["likelihood", "of_100", "place_name"]

_BANDS = (
    (0.99, "virtually certain"),
    (0.90, "very likely"),
    (0.66, "likely"),
    (0.33, "as likely as not"),
    (0.10, "unlikely"),
    (0.01, "very unlikely"),
)


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
