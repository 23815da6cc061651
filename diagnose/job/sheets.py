"""Wheel-angle sheets and a job: read from a file, laid over what was read before, turned into answers."""

from __future__ import annotations

from dataclasses import dataclass, replace

from diagnose.angles.entries import Reading
from diagnose.angles.evidence import FRONT_SET, REAR_SET, Said, said
from diagnose.angles.read import read_sheets
from diagnose.angles.sheet import Car as SheetCar
from diagnose.angles.sheet import Sheet, Sheets
from diagnose.belief.belief import Belief, Car
from diagnose.job.files import read_bytes, shown_name
from diagnose.model.library import Library
from diagnose.model.story import Story

__all__ = ["Effect", "answered", "effect", "laid_over", "read_file", "sheets_of"]


def read_file(name: str) -> Reading:
    """The sheets in a file (YAML or CSV). Raises InputError, or SheetError with every fault of the file."""
    return read_sheets(read_bytes(name), shown_name(name))


def sheets_of(text: str) -> Sheets:
    """The sheets that a job keeps as text; empty ones for no text."""
    return read_sheets(text.encode(), "the job's sheet").sheets if text else Sheets()


def laid_over(known: Sheets, new: Sheets) -> Sheets:
    """The new measurements with those known before that they do not replace.

    What the new file does not tell of the car and its figures stays as it was known.
    """
    car = new.car if new.car != SheetCar() else known.car
    specification = new.specification if new.specification.rows else known.specification

    def fitted(sheet: Sheet | None) -> Sheet | None:
        return sheet and replace(sheet, car=car, specification=specification)

    return replace(
        new,
        before=fitted(new.before or known.before),
        after=fitted(new.after or known.after),
        car=car,
        specification=specification,
    )


def answered(library: Library, sheets: Sheets, car: Car, again: Sheet | None = None) -> Said:
    """What the sheets say of the car as it was brought: the measurement before, and how it took the setting.

    With one measurement only, what that says. again: another reading of it, nothing set in between. Answers
    to checks that this car does not have are left out.
    """
    later = sheets.after if sheets.before is not None else None
    return _fitting(car, said(library, sheets.before or sheets.latest, car.complaints, again, later))


def _fitting(car: Car, found: Said) -> Said:
    return Said(tuple(each for each in found.answers if each.check in car.checks), found.left_open)


@dataclass(frozen=True)
class Effect:
    """What sheets do to the ranking. without: the belief before any sheet; with_it: with the measurement
    before (or the only one); now: with the one after in its place, None if there are not two."""

    without: Belief
    with_it: Belief
    now: Belief | None
    said: Said

    @property
    def latest(self) -> Belief:
        """The belief by the last measurement."""
        return self.now or self.with_it


def effect(library: Library, car: Car, story: Story, sheets: Sheets) -> Effect:
    """The ranking of this car by its sheets, which replace what the story says of the same findings."""
    # The sheets are weighed on the car as it was brought.
    story = replace(story, rounds=())
    if car.rounds:
        car = Car(library, story.vehicle, story.complaints)
    first = answered(library, sheets, car)
    later = Said((), ())
    if sheets.before is not None and sheets.after is not None:
        later = _fitting(car, said(library, sheets.after, car.complaints))
    told = {(each.finding, each.position) for each in (*first.answers, *later.answers)}
    rest = tuple(each for each in story.seen if (each.finding, each.position) not in told)
    now = None
    if later.answers:
        # How it took the setting stays known whatever the new angles are.
        taken = (each for each in first.answers if each.check in (FRONT_SET, REAR_SET))
        now = Belief(car, replace(story, seen=(*rest, *later.answers, *taken)))
    return Effect(
        Belief(car, replace(story, seen=rest)),
        Belief(car, replace(story, seen=(*rest, *first.answers))),
        now,
        first,
    )
