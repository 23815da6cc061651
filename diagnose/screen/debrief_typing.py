"""A drive told from memory at the terminal, leg by leg, once the car is parked.

The questions are a generator of `_Ask`s that takes parsed answers: taking one back plays all but the last
again. After each answer the drive as it then stands is handed to `keep`, so that nothing typed is lost
however the session ends.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass, replace
from typing import Any

from diagnose.debrief.drive import Drive, Impression, Leg, leg_of, neat, speed_words
from diagnose.debrief.read import parse_speed
from diagnose.debrief.route import ROUTE
from diagnose.debrief.scale import parse_rating
from diagnose.debrief.shows import is_control
from diagnose.errors import InputError
from diagnose.library.matching import match_complaint
from diagnose.model.library import Library
from diagnose.model.story import ANSWERS
from diagnose.screen.debrief import complaint_words, scale_page, strength_words
from diagnose.screen.debrief_head import HEAD
from diagnose.screen.desk import Desk
from diagnose.screen.pages import paragraph

__all__ = ["type_drive"]

Keep = Callable[[Drive], None]

#: How many complaints are offered for the driver's words.
OFFERED = 4

_LEG_HELP = (
    "Enter: driven, and nothing noticed (any more). A single - : this leg was not driven. Else what was "
    "noticed, in the driver's words. Driven otherwise than usual: `speed: 60-80`, `surface: gravel`, "
    "`manoeuvre: ...`, then go on."
)


@dataclass(frozen=True)
class _Ask:
    """One question: the drive so far, what is said before it, and what its answer means.

    read: from the typed line to what the dialogue takes. Raises InputError.
    """

    prompt: str
    drive: Drive
    read: Callable[[str], Any]
    help: str
    first: tuple[str, ...] = ()


Dialogue = Generator[_Ask, Any, Drive]


class _NotDriven:
    """The leg was not driven."""


def type_drive(desk: Desk, library: Library, drive: Drive, keep: Keep) -> Drive:
    """Ask for every leg that is not there yet, then for the head of the drive; the drive as told.

    keep: called with the drive after each answer. The end of the input and Ctrl-C stop like `q`.
    """
    look = desk.look

    def say(text: str, style: str = "") -> None:
        desk.show(paragraph(text, look, 2, style))

    say(
        "From memory, the car parked: never at the wheel. Enter: driven, nothing noticed. -: not driven. "
        "Else what was noticed, in the driver's words. u takes back, q stops and keeps, ? helps.",
        "dim",
    )
    desk.show(scale_page(look))
    answers: list[Any] = []
    dialogue, ask = _again(library, drive, answers)
    while ask is not None:
        for text in ask.first:
            say(text)
        drive_now = ask.drive
        keep(drive_now)
        try:
            answer = _answer(desk, ask, say)
        except (_Stop, EOFError, KeyboardInterrupt):
            say("Stopped.")
            return drive_now
        if answer is _BACK:
            if answers:
                answers.pop()
                say("Taken back.")
            else:
                say("Nothing to take back: this is the first question.")
            dialogue, ask = _again(library, drive, answers)
            continue
        answers.append(answer)
        try:
            ask = dialogue.send(answer)
        except StopIteration as end:
            done: Drive = end.value
            keep(done)
            return done
    return drive


class _Stop(Exception):
    """The user has had enough."""


_BACK = object()


def _answer(desk: Desk, ask: _Ask, say: Callable[[str], None]) -> Any:
    """What was typed, as the dialogue takes it, or `_BACK`. Raises _Stop."""
    while True:
        text = neat(desk.ask(ask.prompt))
        if text.lower() in ("q", "quit"):
            raise _Stop
        if text.lower() in ("u", "undo"):
            return _BACK
        if text == "?":
            say(ask.help)
            continue
        try:
            return ask.read(text)
        except InputError as error:
            say(str(error))


def _again(library: Library, drive: Drive, answers: list[Any]) -> tuple[Dialogue, _Ask | None]:
    """The dialogue as it stands after these answers, and its next question; None if it asks nothing."""
    dialogue = _dialogue(library, drive)
    try:
        ask = next(dialogue)
        for answer in answers:
            ask = dialogue.send(answer)
    except StopIteration:
        return dialogue, None
    return dialogue, ask


# The questions ---------------------------------------------------------------------------------------


def _dialogue(library: Library, drive: Drive) -> Dialogue:
    todo = [kind.id for kind in ROUTE.values() if kind.id not in drive.kinds]
    for number, kind in enumerate(todo, start=1):
        drive = yield from _leg(library, drive, kind, f"{number}/{len(todo)}")
    for question in HEAD:
        if getattr(drive, question.field) == getattr(Drive(), question.field):
            told = yield _Ask(question.prompt, drive, question.read, question.help)
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
        said = yield _Ask(prompt, so_far, _leg_reader(leg), _LEG_HELP, first)
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


def _with(drive: Drive, leg: Leg) -> Drive:
    """The drive with this leg, in the order of the route."""
    legs = sorted((*drive.legs, leg), key=lambda one: list(ROUTE).index(one.kind))
    return replace(drive, legs=tuple(legs))


def _impression(library: Library, drive: Drive, leg: Leg, words: str) -> Generator[_Ask, Any, Impression]:
    """What was noticed: the complaint it is, its side, how strong, and where it began."""

    def so_far(one: Impression) -> Drive:
        return _with(drive, replace(leg, noticed=(*leg.noticed, one)))

    one = yield from _match(library, Impression(words), so_far)
    complaint = library.complaints.get(one.complaint or "")
    if complaint is not None and complaint.sided:
        named = {"left", "right"} & set(words.lower().split())
        if len(named) == 1:
            one = replace(one, side=named.pop())
        else:
            side = yield _Ask("to which side? l, r, Enter: not told >", so_far(one), _side, "l or r.")
            one = replace(one, side=side)
    control = is_control(one.complaint)
    asked = "how good, 10 excellent" if control else "how strong, 10 imperceptible"
    prompt = f"{asked} to 1 not acceptable; Enter: not rated >"
    help_ = (
        "A number from 1 to 10 in halves, or a word of the scale; 5 is the border. Without a rating: yes, "
        "probably, cannot tell or probably not."
    )
    told = yield _Ask(prompt, so_far(one), _strength, help_)
    one = replace(one, felt=told) if isinstance(told, str) else replace(one, rating=told)
    prompt = "where, or at what speed, did it begin? Enter: not told >"
    began = yield _Ask(prompt, so_far(one), str, "In a few words: from 80 km/h, on the bridge.")
    return replace(one, began=began)


def _match(
    library: Library, one: Impression, so_far: Callable[[Impression], Drive]
) -> Generator[_Ask, Any, Impression]:
    """The impression with the complaint that is meant; its words stay the first ones."""
    words = one.words
    while True:
        found = match_complaint(library, words)[:OFFERED]
        names = [match.complaint for match in found]
        one = replace(one, complaint=names[0] if names else None)
        if found and found[0].score == 100.0 and len(found) == 1:
            return one
        if not found:
            first: tuple[str, ...] = ("No complaint of the trees sounds like that.",)
            prompt = "say it otherwise, or Enter: keep the words alone >"
        else:
            told = [
                f"{number} {complaint_words(library, name)}" for number, name in enumerate(names, start=1)
            ]
            first = (f"= {'; '.join(told)}",)
            prompt = f"Enter: 1; {_numbers(len(names))}0: none of them; or say it otherwise >"
        help_ = "Enter takes the first, a number that one, 0 none; other words are looked up anew."
        chosen = yield _Ask(prompt, so_far(one), _choice(names), help_, first)
        if isinstance(chosen, int):
            return replace(one, complaint=names[chosen - 1] if chosen else None)
        words = chosen


def _numbers(count: int) -> str:
    """`2-4: that one; `, as far as there are so many."""
    return "" if count < 2 else "2: that one; " if count == 2 else f"2-{count}: that one; "


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
        raise InputError(f"{text!r} is no side: type l, r, or Enter")
    return sides[text.lower()]


def _strength(text: str) -> float | str | None:
    """A rating, a word of an answer, or None."""
    answer = "-".join(text.lower().split())
    if not text or answer in ANSWERS:
        return answer or None
    return parse_rating(text)
