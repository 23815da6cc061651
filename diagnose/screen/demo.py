"""A job that plays itself: an invented van on an invented island, from complaint to conclusion.

Everything about it is made up for the demonstration; the program under it is the real one, with the
shipped trees and a store of its own that is thrown away. The player answers every question as the
van's hidden fault would.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from rich.console import RenderableType
from rich.text import Text

from diagnose.choice.outcomes import Spot
from diagnose.job.journal import Journal
from diagnose.job.session import Session
from diagnose.library.shelf import load
from diagnose.measure import likely_answer
from diagnose.model.check import Finding
from diagnose.model.library import Library
from diagnose.model.story import Seen, Workshop
from diagnose.screen.complaint import ask_complaint
from diagnose.screen.desk import Look, console_for
from diagnose.screen.pages import SHORT, paragraph, places_of
from diagnose.screen.walk import walk
from diagnose.units import plain

__all__ = ["demo"]

#: Invented scenario (demo data): the bread van of an island called Tarn Skerry.
WORDS = "knocks at the front over bumps"
FACTS = {
    "front": "strut",
    "rear": "twist-beam",
    "steering": "electric-column-rack",
    "drive": "front",
    "damping": "plain",
}
DISTANCE = "164000 km, 11 years"
TRUTH = ("front-drop-link-play-front-left",)


class _DemoDesk:
    """A desk whose user knows what is wrong with the van."""

    def __init__(self, library: Library, fast: bool) -> None:
        self._console, self._look = console_for()
        self._library = library
        self._pause: Callable[[float], None] = (lambda seconds: None) if fast else time.sleep
        self.session: Session | None = None

    @property
    def look(self) -> Look:
        """How things can be shown here."""
        return self._look

    def show(self, page: RenderableType) -> None:
        """Print a page, and leave the time to read some of it."""
        self._console.print(page)
        self._pause(0.25)

    def ask(self, prompt: str, words: Sequence[str] = ()) -> str:
        """What the player types, letter by letter."""
        typed = self._answer(prompt)
        self._console.print(prompt + " ", end="")
        self._pause(2.2)
        for letter in typed:
            self._console.print(letter, end="")
            self._pause(0.04)
        self._console.print()
        self._pause(0.5)
        return typed

    def _answer(self, prompt: str) -> str:
        session = self.session
        if session is None:
            return WORDS
        if prompt.startswith("such as"):
            return DISTANCE
        if prompt.startswith("[y] yes [n] no;"):
            return "n"
        if prompt.startswith("1-"):
            asked = next(ask.id for ask in session.asks() if ask.kind == "fact")
            ids = [value.id for value in self._library.facts[asked].values]
            return str(ids.index(FACTS[asked]) + 1)
        if not prompt.startswith("answer"):
            return ""
        check = session.check_now()
        assert check is not None
        spots = session.spots(check)
        car = session.verdict.car
        truth = {car.network.index[name] for name in TRUTH}
        told = [likely_answer(car, spot.finding, spot.position, truth) for spot in spots]
        return typed_answer(self._library, spots, told)


def typed_answer(library: Library, spots: Sequence[Spot], told: Sequence[Seen]) -> str:
    """What a person types for these answers at the prompt of a check."""
    if len(spots) == 1:
        # A finding by itself is answered by the number of its grade: its letters would be commands.
        finding, answer = library.findings[told[0].finding], told[0].answer
        if finding.reading is None and len(finding.levels) > 1:
            return str(finding.levels.index(answer) + 1) if answer in finding.levels else "0"
        return _typed_value(finding, answer) or answer[:1]
    bits = []
    grouped = places_of(spots)
    numbers = {name: number for number, name in enumerate(grouped, start=1)}
    for seen in told:
        finding = library.findings[seen.finding]
        if seen.answer in ("no", "cannot-tell"):
            continue
        places = [place for place in grouped[seen.finding] if place]
        short = SHORT.get(seen.position or "", "")
        if len(places) == 2:
            short = short[-1:]
        value = _typed_value(finding, seen.answer)
        bits.append(
            f"{numbers[seen.finding]}{short if len(places) > 1 else ''}{'=' + value if value else ''}"
        )
    return ", ".join(bits) or "0"


def _typed_value(finding: Finding, answer: str) -> str:
    """A grade or reading as typed; empty for a plain yes or no."""
    if answer not in finding.levels or finding.levels == ("yes",):
        return ""
    level = finding.levels.index(answer)
    if finding.reading is not None:
        return f"{plain(finding.reading.limits[level].value)} {finding.reading.unit}"
    return chr(97 + level)


def demo(*, fast: bool) -> None:
    """Play one job from beginning to end; `fast` leaves out the pauses."""
    library = load()
    desk = _DemoDesk(library, fast)
    intro = (
        "Demo: an invented bread van on an invented island. The answers are typed by the program, as the "
        "van's hidden fault would give them; ranking, checks and conclusion are computed as in a real job."
    )
    desk.show(paragraph(intro, desk.look, 0, "italic"))
    desk.show(Text(""))
    with tempfile.TemporaryDirectory() as folder, Journal.open(Path(folder) / "demo.sqlite") as journal:
        complaint, side, words = ask_complaint(desk, library)
        desk.session = Session.start(library, journal, "bread van (demo)", Workshop())
        desk.session.hear(complaint, side, words)
        walk(desk, desk.session)
    desk.show(paragraph("That was the demo. `diagnose` begins a job of your own.", desk.look, 0, "italic"))
