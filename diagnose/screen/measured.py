"""Findings that can be answered with what was measured: a line of figures becomes likelihoods of the grades.

`METHODS` is the one place where a finding gets such a way of answering.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from diagnose.choice.outcomes import Spot
from diagnose.errors import InputError
from diagnose.geometry.tyres import parse_tyre
from diagnose.job.session import Session
from diagnose.model.check import Finding
from diagnose.model.story import Seen
from diagnose.screen.desk import Line
from diagnose.screen.shake import read_line
from diagnose.shake.advice import advise
from diagnose.shake.fit import fits_of
from diagnose.shake.given import Build
from diagnose.shake.grades import FINDING, fits_finding, likeliest, shares_of
from diagnose.shake.typed import looks_measured, parse_ratio, parse_readings

__all__ = ["METHODS", "Measured", "Measures"]

T = TypeVar("T")

#: Says one sentence.
Say = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Measured:
    """An answer from figures: what is believed of it, the figures for the record, and one line to show."""

    seen: Seen
    note: str
    line: str


class Shake:
    """A frequency at a speed. What it asks about the car it asks once, and keeps while the walk lasts."""

    example = "or what was read: 14.6 Hz at 110 km/h, 12.1 Hz at 90 km/h (by satellite)"

    def __init__(self) -> None:
        self._told: dict[str, str] = {}

    def fits(self, finding: Finding) -> bool:
        """True if the finding has the grades that figures can speak for."""
        return fits_finding(finding)

    def looks(self, typed: str) -> bool:
        """True if a line means figures."""
        return looks_measured(typed)

    def answer(self, session: Session, spot: Spot, typed: str, line: Line, say: Say) -> Measured | None:
        """The answer; None if it was broken off by a command. Raises InputError for what is no reading."""
        readings = parse_readings(typed)
        drive = session.state.vehicle.facts.get("drive")
        tyre = self._ask("tyre", "Tyre size on the sidewall, such as 205/55 R16", parse_tyre, line, say)
        if tyre is None:
            return None
        ratio: tuple[float | None] | None = (None,)
        if drive != "front":
            ratio = self._ask("ratio", "Final drive ratio, such as 3.9", _ratio, line, say)
        if ratio is None:
            return None
        propshaft = None if drive is None else drive != "front"
        build = Build(tyre[0], final_drive=ratio[0], propshaft=propshaft)
        fits = fits_of(readings, build)
        finding = session.library.findings[spot.finding]
        shares = shares_of(finding, fits)
        seen = Seen(spot.finding, spot.position, likeliest(finding, shares), shares=shares)
        figures = read_line(readings)
        car = [f"tyre {self._told.get('tyre') or 'not known'}"]
        if drive != "front":
            car.append(f"final drive {self._told.get('ratio') or 'not known'}")
        advice = advise(fits, readings, build)
        said = " ".join([f"{figures}.", advice.verdict, *advice.doubts])
        return Measured(seen, f"{finding.name}: {figures}; {', '.join(car)}", said)

    def _ask(
        self, key: str, what: str, read: Callable[[str], T], line: Line, say: Say
    ) -> tuple[T | None] | None:
        """(value or None for not known,), asked for once; None if broken off by a command."""
        while key not in self._told:
            typed = line(f"{what}; Enter: not known >")
            if typed is None:
                return None
            typed = "" if typed.lower() in ("c", "?") else typed
            try:
                if typed:
                    read(typed)
            except InputError as error:
                say(str(error))
                continue
            self._told[key] = typed
        return (read(self._told[key]) if self._told[key] else None,)


def _ratio(typed: str) -> float:
    """A final drive as it can be; else InputError."""
    ratio = parse_ratio(typed)
    Build(final_drive=ratio)
    return ratio


#: Finding -> how figures answer it.
METHODS: Mapping[str, Callable[[], Shake]] = {FINDING: Shake}


class Measures:
    """The methods of one walk, with what they were told of the car."""

    def __init__(self) -> None:
        self._methods = {name: make() for name, make in METHODS.items()}

    def _of(self, session: Session, spots: Sequence[Spot]) -> Shake | None:
        method = self._methods.get(spots[0].finding) if len(spots) == 1 else None
        if method is None or not method.fits(session.library.findings[spots[0].finding]):
            return None
        return method

    def example(self, session: Session, spots: Sequence[Spot]) -> str:
        """How figures are typed at these findings; empty where they are not taken."""
        method = self._of(session, spots)
        return method.example if method else ""

    def takes(self, session: Session, spots: Sequence[Spot], typed: str) -> bool:
        """True if a line means figures for these findings."""
        method = self._of(session, spots)
        return method is not None and method.looks(typed)

    def answer(
        self, session: Session, spots: Sequence[Spot], typed: str, line: Line, say: Say
    ) -> Measured | None:
        """The answer by figures; None if it was broken off by a command."""
        method = self._of(session, spots)
        return method.answer(session, spots[0], typed, line, say) if method else None
