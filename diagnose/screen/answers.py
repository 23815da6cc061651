"""What a line typed at a check means: findings seen, grades, readings, or a command."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.choice.outcomes import Spot
from diagnose.errors import InputError
from diagnose.model.check import Finding
from diagnose.model.library import Library
from diagnose.model.story import Seen
from diagnose.screen.pages import places_of, short_places
from diagnose.units import parse_reading, plain

__all__ = ["COMMANDS", "Command", "command", "hint", "parse", "whole"]

#: letter -> (whole word, what it does).
COMMANDS: dict[str, tuple[str, str]] = {
    "w": ("why", "why this check; w 2: why cause 2 stands where it does"),
    "o": ("others", "other checks to choose from; o WORDS: find one"),
    "s": ("skip", "not this one now"),
    "x": ("cannot", "cannot be done here (no lift, no helper, ...)"),
    "u": ("undo", "take back the last step; u 3: the last three"),
    "t": ("text", "t WORDS: write a note"),
    "a": ("add", "a WORDS: another complaint of the same car"),
    "r": ("ranking", "the whole ranking; r there, r minute, r money: in another order"),
    "f": ("facts", "what is known of the car, and change it"),
    "g": ("repair", "g: what was repaired, and how it drives since; the job goes on from there"),
    "e": ("end", "conclude with what is known now"),
    "q": ("quit", "stop and keep; `diagnose` goes on here"),
    "h": ("help", "this list"),
}

#: Commands that may have words behind them.
WITH_WORDS = frozenset({"why", "others", "undo", "text", "add", "ranking", "repair"})

#: Words for an answer to a single question.
WORDS = {
    "y": "yes",
    "yes": "yes",
    "p": "probably",
    "probably": "probably",
    "c": "cannot-tell",
    "cannot tell": "cannot-tell",
    "cannot-tell": "cannot-tell",
    "m": "probably-not",
    "probably not": "probably-not",
    "probably-not": "probably-not",
    "n": "no",
    "no": "no",
}

#: Mark behind a number -> answer.
MARKS = {"": "yes", "+": "yes", "?": "probably", "~": "cannot-tell", "-": "no", "-?": "probably-not"}


@dataclass(frozen=True, slots=True)
class Command:
    """A command with what was typed behind it."""

    name: str
    rest: str = ""


def hint(library: Library, spots: Sequence[Spot]) -> str:
    """The line that says how to answer."""
    if _single(spots):
        finding = library.findings[spots[0].finding]
        if finding.reading is not None:
            return f"a number in {finding.reading.unit} [c] cannot tell"
        if len(finding.levels) > 1:
            grades = " ".join(f"[{n}] {level}" for n, level in enumerate(finding.levels, start=1))
            none = "" if finding.always else f" [0] {finding.none}"
            return f"{grades}{none} [c] cannot tell"
        return "[y] yes [p] probably [c] cannot tell [m] probably not [n] no"
    return "the numbers of what you saw, 0 for none of it"


def parse(library: Library, spots: Sequence[Spot], text: str) -> Command | list[Seen]:
    """A command, or an answer to every open finding of the check.

    With one finding at one place: y, p, c, m, n, a grade or a reading. With several: the numbers of
    what was seen, with a place (`2l`), a mark (`2?` probably, `2~` cannot tell, `2-?` probably not), a grade
    (`3=b`) or a reading (`4r=9 mm`), separated by commas or spaces; whatever is not named was not seen.
    Raises InputError saying what cannot be understood.
    """
    typed = " ".join(text.split())
    told = _plain_answer(library, spots, typed)
    if told is not None:
        return told
    asked = command(typed)
    if asked is not None:
        return asked
    if not typed:
        raise InputError("type an answer, or h for help")
    if _single(spots):
        return [_single_answer(library.findings[spots[0].finding], spots[0].position, typed)]
    return _several(library, spots, typed)


def _plain_answer(library: Library, spots: Sequence[Spot], typed: str) -> list[Seen] | None:
    """A single finding answered by a whole word, which may begin like a command (`cannot tell`)."""
    if not _single(spots):
        return None
    finding = library.findings[spots[0].finding]
    names = [] if finding.levels == ("yes",) else [finding.none.lower(), *(n.lower() for n in finding.levels)]
    if typed.lower() in names and finding.reading is None:
        return [Seen(finding.id, spots[0].position, _grade(finding, typed))]
    if typed.lower() in WORDS and (
        finding.levels == ("yes",) or WORDS[typed.lower()] in ("cannot-tell", "no")
    ):
        return [_single_answer(finding, spots[0].position, typed)]
    return None


def _single(spots: Sequence[Spot]) -> bool:
    return len(spots) == 1


def command(typed: str) -> Command | None:
    """The command that a line begins with, or None; most commands stand alone on their line."""
    first, _, rest = " ".join(typed.split()).partition(" ")
    for letter, (word, _) in COMMANDS.items():
        if first.lower() in (letter, word) and (not rest or word in WITH_WORDS):
            return Command(word, rest.strip())
    return Command("why") if typed.strip() == "?" else None


def whole(typed: str, most: int) -> int | None:
    """The number typed, if it is a whole one from 1 to `most`."""
    text = typed.strip()
    # Other scripts have digits too, and a very long number costs time: neither is in any list.
    if not (text.isascii() and text.isdecimal() and len(text) <= 6):
        return None
    return int(text) if 1 <= int(text) <= most else None


def _single_answer(finding: Finding, place: str | None, typed: str) -> Seen:
    word = WORDS.get(typed.lower())
    if finding.reading is not None:
        if word == "cannot-tell":
            return Seen(finding.id, place, word)
        return _reading(finding, place, typed)
    if len(finding.levels) > 1:
        if word in ("cannot-tell", "no"):
            return Seen(finding.id, place, finding.unseen if word == "no" else word)
        return Seen(finding.id, place, _grade(finding, typed))
    if typed in ("0", "1"):
        return Seen(finding.id, place, "yes" if typed == "1" else "no")
    if word is None:
        raise InputError(
            f"{typed!r} is not an answer: y yes, p probably, c cannot tell, m probably not, n no"
        )
    return Seen(finding.id, place, word)


def _reading(finding: Finding, place: str | None, typed: str) -> Seen:
    assert finding.reading is not None
    value = parse_reading(typed, finding.reading.unit)
    level = finding.reading.level(value)
    return Seen(finding.id, place, finding.levels[level - 1] if level else finding.none, value)


def _grade(finding: Finding, typed: str) -> str:
    lowered = typed.lower()
    if lowered in ("0", finding.none.lower()):
        return finding.unseen
    for number, level in enumerate(finding.levels, start=1):
        if lowered in (str(number), chr(96 + number), level.lower()):
            return level
    starts = [level for level in finding.levels if level.lower().startswith(lowered)]
    if len(starts) == 1:
        return starts[0]
    choices = ", ".join(f"{n} {level}" for n, level in enumerate(finding.levels, start=1))
    none = "c" if finding.always else "0"
    raise InputError(f"{typed!r} is not one of: {none} {finding.none}, {choices}")


# Behind `=`, a comma straight between two digits is a decimal comma; any other comma ends the value.
_TOKEN = re.compile(
    r"\s*,?\s*(?P<number>\d+)(?P<place>fl|fr|rl|rr|[lrf])?(?P<mark>-\?|[+?~-])?"
    r"(?:\s*=\s*(?P<value>(?:[^,;]|(?<=\d),(?=\d))+?"
    r"(?=\s*(?:;|(?<!\d),|,(?!\d)|$|\s\d+(?:fl|fr|rl|rr|[lrf])?(?:[+?~-]|\s*=|\s|$)))))?\s*[,;]?"
)


def _several(library: Library, spots: Sequence[Spot], typed: str) -> list[Seen]:
    grouped = places_of(spots)
    names = list(grouped)
    answers: dict[tuple[str, str | None], Seen] = {}
    if WORDS.get(typed.lower()) == "cannot-tell":
        return [Seen(spot.finding, spot.position, "cannot-tell") for spot in spots]
    if typed.lower() not in ("0", "n", "no", "none"):
        at = 0
        while at < len(typed):
            found = _TOKEN.match(typed, at)
            if found is None or found.end() == at:
                raise InputError(
                    f"{typed[at:].strip()!r} is not understood: "
                    "write numbers such as 1 3, 2l for left, 2? if unsure"
                )
            at = found.end()
            number = whole(found["number"], len(names))
            if number is None:
                raise InputError(f"there is no {found['number'][:9]}: the list goes from 1 to {len(names)}")
            finding = library.findings[names[number - 1]]
            for place in _places(number, found["place"], grouped[names[number - 1]]):
                answers[finding.id, place] = _one(finding, number, place, found["mark"] or "", found["value"])
    return [
        answers.get(
            (spot.finding, spot.position),
            Seen(spot.finding, spot.position, library.findings[spot.finding].unseen),
        )
        for spot in spots
    ]


def _places(number: int, short: str | None, places: Sequence[str | None]) -> list[str | None]:
    known = short_places(places)
    if short is None:
        return list(places)
    if short in known:
        return [known[short]]
    if not known:
        raise InputError(f"{number} has no sides: write {number} alone")
    # `l` among four corners means both corners of that side.
    side = {"l": "left", "r": "right"}.get(short)
    of_side = [place for place in known.values() if side and place.endswith(side)]
    if of_side:
        return list(of_side)
    raise InputError(f"{number}{short}: write {' or '.join(f'{number}{s}' for s in known)}")


def _one(finding: Finding, number: int, place: str | None, mark: str, value: str | None) -> Seen:
    answer = MARKS[mark]
    if finding.reading is not None:
        if value is not None:
            return _reading(finding, place, value.strip())
        if answer in ("cannot-tell", "no"):
            return Seen(finding.id, place, answer)
        limit = plain(finding.reading.limits[0].value)
        raise InputError(
            f"{number} is a reading: write {number}={limit} {finding.reading.unit}, "
            f"or {number}~ if it was not measured"
        )
    if len(finding.levels) > 1:
        if value is not None:
            return Seen(finding.id, place, _grade(finding, value.strip()))
        if answer in ("cannot-tell", "no"):
            return Seen(finding.id, place, finding.unseen if answer == "no" else answer)
        grades = ", ".join(
            f"{number}={chr(96 + n)} {level}" for n, level in enumerate(finding.levels, start=1)
        )
        raise InputError(f"{number} has grades: write {grades}")
    if value is not None:
        raise InputError(f"{number} takes no value: write {number}, {number}? or {number}~")
    return Seen(finding.id, place, answer)
