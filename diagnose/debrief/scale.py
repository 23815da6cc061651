"""The ten-point scale on which a driver rates what he felt: numbers, words, and how sure a rating is.

The scale is that of SAE J1441, its words as told at second hand: in descriptions of the 2024 edition, not in
the standard itself. 10 is best, 5 the border between desirable and undesirable, fractions are allowed;
halves are what is used here.
"""

from __future__ import annotations

import re
import textwrap

from diagnose.errors import InputError

__all__ = [
    "BEST",
    "BORDER",
    "WORDS",
    "WORST",
    "answer",
    "is_rating",
    "parse_rating",
    "rating_words",
    "scale_lines",
    "shown",
]

WORST, BORDER, BEST = 1.0, 5.0, 10.0

#: rating -> its word for a disturbance (a shake, a noise, a pull) and for control (how the car answers).
WORDS: dict[int, tuple[str, str]] = {
    10: ("imperceptible", "excellent"),
    9: ("trace", "excellent"),
    8: ("a little", "good"),
    7: ("some", "good"),
    6: ("moderate", "fair"),
    5: ("borderline", "borderline"),
    4: ("annoying", "poor"),
    3: ("strong", "poor"),
    2: ("severe", "very poor"),
    1: ("not acceptable", "not acceptable"),
}

#: From which rating down a disturbance counts as felt, and how surely (estimate): what is a little is most
#: likely there, a trace may be imagined. A half point above a trace tends to no, 10 is no.
_FELT = ((7.5, "yes"), (8.5, "probably"), (9.0, "cannot-tell"), (9.5, "probably-not"), (10.0, "no"))

#: The words of control turn a point lower (estimate): what is good is hardly a complaint, what is fair is.
CONTROL_SHIFT = 1.0


def is_rating(value: float) -> bool:
    """True for 1 to 10 in halves."""
    return WORST <= value <= BEST and (2.0 * value).is_integer()


def rating_words(rating: float, control: bool = False) -> str:
    """The word of a rating; between two different words, both: `some to moderate`."""
    at = 1 if control else 0
    if float(rating).is_integer():
        return WORDS[int(rating)][at]
    better, worse = WORDS[int(rating) + 1][at], WORDS[int(rating)][at]
    return better if better == worse else f"{better} to {worse}"


def shown(rating: float) -> str:
    """The number as it is written: `6`, `6.5`."""
    return f"{rating:g}"


def answer(rating: float, control: bool = False) -> str:
    """How surely something so rated was felt: one of the words of an answer, `yes` to `no`."""
    shift = CONTROL_SHIFT if control else 0.0
    for most, word in _FELT:
        if rating <= max(most - shift, WORST) or most == BEST:
            return word
    raise AssertionError(rating)  # the last row takes every rating


def parse_rating(text: str) -> float:
    """The rating in `6`, `6.5`, `6,5`, `6/10`, `moderate` or `some to moderate`.

    A word that stands for two numbers gives the middle of them. Raises InputError for anything else.
    """
    said = " ".join(re.sub(r"(?<=[a-z])[-_](?=[a-z])", " ", text.lower()).split())
    number = re.fullmatch(r"([0-9]{1,2}(?:[.,][0-9]{1,2})?)(?: ?/ ?10)?", said)
    if number:
        value = float(number[1].replace(",", "."))
        if is_rating(value):
            return value
        raise InputError(
            f"{number[1]} is not on the scale: write 1 (not acceptable) to 10 (imperceptible), in halves"
        )
    found = [_word(part) for part in said.split(" to ")]
    if found and None not in found and len(found) <= 2:
        known = [value for value in found if value is not None]
        return round(sum(known) / len(known) * 2.0) / 2.0
    raise InputError(
        f"{' '.join(text.split())[:40]!r} is not a rating: write 1 to 10 such as 6 or 6.5, or a word of the "
        "scale such as moderate or annoying"
    )


def _word(said: str) -> float | None:
    """The rating of one word of the scale, or None."""
    numbers = [number for number, words in WORDS.items() if said in words]
    return sum(numbers) / len(numbers) if numbers else None


def scale_lines(width: int, control: bool = False) -> list[str]:
    """The whole scale, best first, in lines of at most `width` columns; no number apart from its word."""
    joint = "\u00a0"
    at = 1 if control else 0
    told = ", ".join(
        f"{number} {WORDS[number][at]}".replace(" ", joint) for number in sorted(WORDS, reverse=True)
    )
    title = "How the car answers: " if control else "Shakes, noises, pulls: "
    lines = textwrap.wrap(title + told, width, subsequent_indent="  ")
    return [line.replace(joint, " ") for line in lines]
