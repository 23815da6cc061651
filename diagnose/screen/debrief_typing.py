"""A drive told from memory at the terminal, leg by leg, once the car is parked.

The questions are a generator of `Ask`s that takes parsed answers: taking one back plays all but the last
again. After each answer the drive as it then stands is handed to `keep`, so that nothing typed is lost
however the session ends.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from diagnose.debrief.drive import Drive, neat
from diagnose.errors import InputError
from diagnose.model.library import Library
from diagnose.screen.debrief import scale_page
from diagnose.screen.debrief_asks import Ask, Dialogue, dialogue_of
from diagnose.screen.desk import Desk
from diagnose.screen.pages import paragraph

__all__ = ["type_drive"]

Keep = Callable[[Drive], None]


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


def _answer(desk: Desk, ask: Ask, say: Callable[[str], None]) -> Any:
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


def _again(library: Library, drive: Drive, answers: list[Any]) -> tuple[Dialogue, Ask | None]:
    """The dialogue as it stands after these answers, and its next question; None if it asks nothing."""
    dialogue = dialogue_of(library, drive)
    try:
        ask = next(dialogue)
        for answer in answers:
            ask = dialogue.send(answer)
    except StopIteration:
        return dialogue, None
    return dialogue, ask
