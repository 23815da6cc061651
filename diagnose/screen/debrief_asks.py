"""The questions of a debrief, leg by leg, then the drive as a whole: a generator that takes answers."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass, replace
from typing import Any

from diagnose.debrief.drive import Drive, Impression, Leg, leg_of, neat, speed_words
from diagnose.debrief.naming import EXACT, name_complaint
from diagnose.debrief.read import parse_speed
from diagnose.debrief.route import ROUTE
from diagnose.debrief.scale import parse_rating, scale_lines
from diagnose.debrief.shows import is_control
from diagnose.errors import InputError
from diagnose.model.library import Library
from diagnose.model.story import ANSWERS
from diagnose.screen.debrief import complaint_words, strength_words
from diagnose.screen.debrief_head import HEAD

__all__ = ["Ask", "Dialogue", "dialogue_of"]

#: How many complaints are offered for the driver's words.
OFFERED = 4

_LEG_HELP = (
    "Enter: driven, and nothing noticed (any more). A single - : this leg was not driven. Else what was "
    "noticed, in the driver's words. Driven otherwise than usual: `speed: 60-80`, `surface: gravel`, "
    "`manoeuvre: ...`, then go on."
)


@dataclass(frozen=True)
class Ask:
    """One question: the drive so far, what is said before it, and what its answer means.

    read: from the typed line to what the dialogue takes. Raises InputError.
    """

    prompt: str
    drive: Drive
    read: Callable[[str], Any]
    help: str
    first: tuple[str, ...] = ()


Dialogue = Generator[Ask, Any, Drive]


class _NotDriven:
    """The leg was not driven."""


def dialogue_of(library: Library, drive: Drive) -> Dialogue:
    """Asks for every leg that is not in the drive yet, then for its head; returns the drive as told."""
    todo = [kind.id for kind in ROUTE.values() if kind.id not in drive.kinds]
    for number, kind in enumerate(todo, start=1):
        drive = yield from _leg(library, drive, kind, f"{number}/{len(todo)}")
    for question in HEAD:
        if getattr(drive, question.field) == getattr(Drive(), question.field):
            told = yield Ask(question.prompt, drive, question.read, question.help)
            drive = replace(drive, **{question.field: told})
    return drive


def _leg(library: Library, drive: Drive, kind: str, number: str) -> Dialogue:
    """One leg; the drive with it, or without it if it was not driven."""
    leg = leg_of(kind)
    first: tuple[str, ...] = ()
    while True:
        more = "anything else" if leg.noticed else speed_words(leg.low, leg.high)
        so_far = _with(drive, leg) if leg.noticed else drive
        prompt = f"{number} {leg.what.name}, {more} >"
        said = yield Ask(prompt, so_far, _leg_reader(leg), _LEG_HELP, first)
        first = ()
        if said is _NotDriven:
            return drive
        if isinstance(said, Leg):
            leg = said
            first = (f"= {speed_words(leg.low, leg.high)}, {leg.surface}; {leg.manoeuvre}",)
        elif said:
            one = yield from _impression(library, drive, leg, said)
            leg = replace(leg, noticed=(*leg.noticed, one))
            first = (f"= {complaint_words(library, one.complaint, one.side)}: {strength_words(one)}",)
        else:
            return _with(drive, leg)


def _leg_reader(leg: Leg) -> Callable[[str], Any]:
    def read(text: str) -> Any:
        if text == "-":
            if leg.noticed:
                raise InputError("something was noticed on this leg, so it was driven: Enter goes on")
            return _NotDriven
        if _is_rating(text):
            raise InputError(f"{text!r} is a rating: say first what was noticed, in the driver's words")
        name, colon, value = (part.strip() for part in text.partition(":"))
        if not colon or name.lower() not in ("speed", "surface", "manoeuvre"):
            return text
        if not value:
            raise InputError(f"{name}: say which, such as `speed: 60-80` or `surface: gravel`")
        if name.lower() == "speed":
            low, high = parse_speed(value)
            return replace(leg, low=low, high=high)
        return replace(leg, surface=value) if name.lower() == "surface" else replace(leg, manoeuvre=value)

    return read


def _is_rating(text: str) -> bool:
    try:
        parse_rating(text)
    except InputError:
        return False
    return True


def _with(drive: Drive, leg: Leg) -> Drive:
    """The drive with this leg, in the order of the route."""
    legs = sorted((*drive.legs, leg), key=lambda one: list(ROUTE).index(one.kind))
    return replace(drive, legs=tuple(legs))


def _impression(library: Library, drive: Drive, leg: Leg, words: str) -> Generator[Ask, Any, Impression]:
    """What was noticed: the complaint it is, its side, how strong, and where it began."""

    def so_far(one: Impression) -> Drive:
        return _with(drive, replace(leg, noticed=(*leg.noticed, one)))

    one, echo = yield from _match(library, leg.kind, Impression(words), so_far)
    complaint = library.complaints.get(one.complaint or "")
    if complaint is not None and complaint.sided:
        named = {"left", "right"} & set(one.words.lower().split())
        if len(named) == 1:
            one = replace(one, side=named.pop())
        else:
            side = yield Ask("to which side? l, r, Enter: not told >", so_far(one), _side, "l or r.", echo)
            one, echo = replace(one, side=side), ()
    control = is_control(one.complaint)
    asked = "how good, 10 excellent" if control else "how strong, 10 imperceptible"
    prompt = f"{asked} to 1 not acceptable; Enter: not rated >"
    help_ = (
        f"{' '.join(scale_lines(400, control))}. Halves are allowed. Without a rating: yes, probably, cannot "
        "tell or probably not."
    )
    told = yield Ask(prompt, so_far(one), _strength, help_, echo)
    one = replace(one, felt=told) if isinstance(told, str) else replace(one, rating=told)
    prompt = "where, or at what speed, did it begin? Enter: not told >"
    began = yield Ask(prompt, so_far(one), str, "In a few words: from 80 km/h, on the bridge.")
    return replace(one, began=began)


def _match(
    library: Library, kind: str, one: Impression, so_far: Callable[[Impression], Drive]
) -> Generator[Ask, Any, tuple[Impression, tuple[str, ...]]]:
    """The impression with the complaint that is meant, and an echo of it where nobody was asked."""
    words = one.words
    while True:
        found = name_complaint(library, words, kind)[:OFFERED]
        names = [match.complaint for match in found]
        one = replace(one, complaint=names[0] if names else None)
        if found and found[0].score == EXACT:
            return one, (f"= {complaint_words(library, names[0])}",)
        if not found:
            first: tuple[str, ...] = ("No complaint of the trees sounds like that.",)
            prompt = "say it otherwise, or Enter: keep the words alone >"
        elif len(found) == 1:
            first = (f"= {complaint_words(library, names[0])}?",)
            prompt = "Enter: yes; 0: no; or say it otherwise >"
        else:
            first = tuple(f"{at} {complaint_words(library, name)}" for at, name in enumerate(names, start=1))
            prompt = "Enter: the first; its number: another; 0: none; or say it otherwise >"
        help_ = "Enter takes the first, a number that one, 0 none; other words are looked up anew."
        chosen = yield Ask(prompt, so_far(one), _choice(names), help_, first)
        if isinstance(chosen, int):
            return replace(one, complaint=names[chosen - 1] if chosen else None), ()
        words = chosen
        one = replace(one, words=neat(f"{one.words}; {words}"))


def _choice(names: list[str]) -> Callable[[str], int | str]:
    def read(text: str) -> int | str:
        if not text:
            return 1 if names else 0
        if text.isascii() and text.isdigit():
            if int(text) > len(names):
                raise InputError(f"there is no {text}: type 0 to {len(names)}, or other words")
            return int(text)
        return text

    return read


def _side(text: str) -> str | None:
    sides = {"": None, "l": "left", "left": "left", "r": "right", "right": "right"}
    if text.lower() not in sides:
        raise InputError(f"{text!r} is not a side: type l, r, or Enter")
    return sides[text.lower()]


def _strength(text: str) -> float | str | None:
    """A rating, a word of an answer, or None."""
    answer = "-".join(text.lower().split())
    if not text or answer in ANSWERS:
        return answer or None
    return parse_rating(text)
