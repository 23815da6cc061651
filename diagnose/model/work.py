"""What repairs share and take in: the taking apart that several need, the work that a bigger one includes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from diagnose.model.library import FollowUp, Library, Remedy
from diagnose.model.position import CORNERS, WHERE, axle_of, meets, mirror

__all__ = ["access_hours", "corners", "covered", "due", "mends", "opened", "unit_at", "units"]

#: An access with where it is opened: a corner, or `car`.
Opened = tuple[str, str]


def unit_at(remedy: Remedy, position: str) -> str:
    """Where one unit of the remedy mends a fault at that position: the position, its axle, or `car`."""
    if remedy.per == "each":
        return position
    if remedy.per == "pair":
        return axle_of(position) or position
    return "car"


def units(library: Library, remedy: Remedy) -> tuple[str, ...]:
    """Every place where a unit of the remedy may be carried out, by the faults that it mends."""
    return tuple(dict.fromkeys(unit_at(remedy, at) for at in _places(library, remedy)))


def corners(library: Library, remedy: Remedy, place: str) -> tuple[str, ...]:
    """The corners of the car at which a remedy is at work.

    place: a position, an axle or `car`. For `car` the places of the faults that it mends decide: all of them
    in front make the two front corners. A place on no side or axle is at every corner that it may be at.
    """
    places = [place] if place in WHERE else _places(library, remedy)
    return tuple(corner for corner in CORNERS if any(corner in _corners_of(each) for each in places))


def opened(library: Library, remedy: Remedy, place: str) -> tuple[Opened, ...]:
    """Every access that the remedy opens at that place, with what it is within, each once.

    place: as in `corners`. Access per `each` is opened at each corner of the remedy, access per `car` once.
    What an access per `car` is within is opened on both sides. Works carried out in one visit open the union
    of what each opens; unknown ids are passed over.
    """
    found: dict[Opened, None] = {}
    for name in remedy.access:
        at = corners(library, remedy, place)
        seen: set[str] = set()
        while name in library.access and name not in seen:
            seen.add(name)
            access = library.access[name]
            if access.per == "car":
                at = tuple(each for each in CORNERS if each in at or mirror(each) in at)
            found.update(dict.fromkeys((name, each) for each in (("car",) if access.per == "car" else at)))
            name = access.within
    return tuple(found)


def access_hours(library: Library, opened: Iterable[Opened]) -> float:
    """Hours to open all these and to close them again, each once; empty: 0."""
    return math.fsum(library.access[name].hours for name, _ in set(opened))


def covered(table: Mapping[str, Remedy] | Mapping[str, FollowUp], names: Iterable[str]) -> frozenset[str]:
    """Ids that the named rows of the table cover, over however many others."""
    found: set[str] = set()
    todo = list(names)
    while todo:
        row = table.get(todo.pop())
        for name in row.covers if row is not None else ():
            if name not in found:
                found.add(name)
                todo.append(name)
    return frozenset(found)


def mends(library: Library, remedy: Remedy, place: str) -> tuple[tuple[str, str], ...]:
    """Every fault, with its position, that the remedy puts right at that place: its own and what it covers.

    place: one of its `units`. Of a covered remedy that is done on both sides, a remedy on one side puts right
    the faults of its own side.
    """
    here = set(corners(library, remedy, place))
    beside = covered(library.remedies, [remedy.id]) - {remedy.id}
    return tuple(
        (fault.id, at)
        for fault in library.faults.values()
        for at in WHERE[fault.where]
        if (fault.remedy == remedy.id and unit_at(remedy, at) == place)
        or (fault.remedy in beside and here.issuperset(_corners_of(at)))
    )


def due(library: Library, names: Iterable[str]) -> tuple[FollowUp, ...]:
    """The work that must follow, of all that is named: each once, without what another one covers."""
    owed = list(dict.fromkeys(name for name in names if name in library.follow_ups))
    done = covered(library.follow_ups, owed)
    return tuple(library.follow_ups[name] for name in owed if name not in done)


def _corners_of(position: str) -> tuple[str, ...]:
    return tuple(corner for corner in CORNERS if meets(corner, position))


def _places(library: Library, remedy: Remedy) -> list[str]:
    return [at for fault in library.faults.values() if fault.remedy == remedy.id for at in WHERE[fault.where]]
