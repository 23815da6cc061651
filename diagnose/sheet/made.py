"""The two sheets put together: the short one for the owner, the full one for the workshop."""

from __future__ import annotations

from diagnose.sheet import causes, drives, ends, heads, looked, path, wheel_angles, work
from diagnose.sheet.material import Material
from diagnose.sheet.page import Page, Reader, Section

__all__ = ["sheet"]


def sheet(material: Material, reader: Reader = "workshop") -> Page:
    """The page; what the job has not is left out. Raises ImpossibleAnswers as its belief does."""
    sections = _owner(material) if reader == "owner" else _workshop(material)
    return Page(
        reader,
        "For the owner of the car" if reader == "owner" else "Workshop sheet",
        heads.title(material),
        heads.about(material),
        tuple(heads.notices(material)),
        tuple(each for each in sections if each is not None),
        ends.closing(material, reader),
    )


def _workshop(material: Material) -> list[Section | None]:
    return [
        heads.in_short(material),
        heads.complaint(material),
        heads.car(material),
        causes.causes(material),
        path.path(material),
        looked.checks(material),
        wheel_angles.angles(material),
        drives.drives(material),
        work.repairs(material),
        work.next_check(material),
        work.plan(material),
        ends.afterwards(material),
        ends.notes(material),
    ]


def _owner(material: Material) -> list[Section | None]:
    return [
        heads.in_short(material),
        heads.complaint(material, "What you told us"),
        looked.owner_checks(material),
        None if material.cured else causes.owner_causes(material),
        wheel_angles.angles(material, pictures_only=True),
        work.repairs(material),
        drives.owner_drives(material),
        work.owner_plan(material),
        ends.afterwards(material),
    ]
