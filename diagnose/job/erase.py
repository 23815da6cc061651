"""A job without what somebody said or is called: free words go, what was seen and done on the car stays."""

from __future__ import annotations

import re
from dataclasses import replace

from diagnose.angles.sheet import Car as SheetCar
from diagnose.angles.sheet import Sheet, Sheets
from diagnose.angles.write import sheet_yaml
from diagnose.debrief.drive import Drive, Impression
from diagnose.debrief.read import read_drive
from diagnose.debrief.write import drive_yaml
from diagnose.job import events as e
from diagnose.job.events import Event
from diagnose.job.sheets import sheets_of
from diagnose.model.library import Library

__all__ = ["ERASED", "without_person"]

#: What stands where words cannot just be left out.
ERASED = "erased"

#: Outcomes that the program itself writes.
_OWN_OUTCOMES = frozenset({"cured", "diagnosis concluded"})

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


def without_person(library: Library, event: Event, name: str) -> Event:
    """The event without free words. name: what the job is called from now on.

    Raises DebriefError or SheetError where a drive or a sheet cannot be read, and so cannot be cleaned.
    """
    match event:
        case e.Opened():
            return replace(event, name=name)
        case e.ComplaintHeard() | e.FeltSince():
            return replace(event, words="")
        case e.Noted():
            return e.Noted(ERASED)
        case e.Repaired():
            return replace(event, grade="")
        case e.Closed(outcome):
            return event if outcome in _OWN_OUTCOMES else e.Closed("closed")
        case e.AnglesRead(text):
            return e.AnglesRead(sheet_yaml(_sheets(sheets_of(text))))
        case e.DriveTold(text):
            return e.DriveTold(_drive(library, text))
        case e.ReferenceTold(text):
            return replace(event, text=_drive(library, text))
    return event


def _sheets(sheets: Sheets) -> Sheets:
    """The sheets without the car's name; notes in their text go with the writing anew."""

    def cleaned(sheet: Sheet | None) -> Sheet | None:
        return sheet and replace(sheet, car=_unnamed(sheet.car))

    return replace(
        sheets, before=cleaned(sheets.before), after=cleaned(sheets.after), car=_unnamed(sheets.car)
    )


def _unnamed(car: SheetCar) -> SheetCar:
    return replace(car, name="")


def _drive(library: Library, text: str) -> str:
    drive: Drive = read_drive(library, text.encode(), "the job's drive")
    day = _DAY.match(drive.when)
    legs = tuple(replace(leg, noticed=tuple(_unsaid(one) for one in leg.noticed)) for leg in drive.legs)
    plain = replace(drive, car="", who="", load="", weather="", when=day[0] if day else "", legs=legs)
    return drive_yaml(plain)


def _unsaid(one: Impression) -> Impression:
    return replace(one, words="" if one.complaint else ERASED, began="")
