"""What repairs share and take in must make sense: hours of access, and what a bigger repair covers."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from diagnose.errors import Problem
from diagnose.library.build import Draft
from diagnose.model.library import Library, Remedy
from diagnose.model.part import Fault, Fits
from diagnose.model.work import access_hours, mends, opened, units

__all__ = ["MOST_ACCESS", "WORK"]

#: Part of a remedy's hours that its access takes at most: the rest is the work itself (estimate).
MOST_ACCESS = 0.85


def access_does_not_run_in_a_circle(draft: Draft) -> Iterator[Problem]:
    """No access lies within itself, over however many others."""
    table = draft.library.access
    for name in _access_in_circles(draft.library):
        access = table[name]
        wrong = f"access {name!r} is within {access.within!r}, which in the end is within it"
        yield draft.problem(access.place, ("within",), wrong, "say which of them is opened first")


def covers_do_not_run_in_a_circle(draft: Draft) -> Iterator[Problem]:
    """Nothing covers itself, over however many others."""
    from diagnose.library.graph import in_circles

    library = draft.library
    for kind, table in (("remedy", library.remedies), ("follow-up", library.follow_ups)):
        for name in in_circles({each.id: each.covers for each in table.values()}):
            wrong = f"{kind} {name!r} covers what in the end covers it"
            mend = "only the bigger work covers the smaller"
            yield draft.problem(table[name].place, ("covers",), wrong, mend)


def access_and_covers_are_named_once(draft: Draft) -> Iterator[Problem]:
    """No access and nothing covered stands twice in one row."""
    library = draft.library
    lists = [(row.place, row.id, "access", row.access) for row in library.remedies.values()]
    lists += [(row.place, row.id, "covers", row.covers) for row in library.remedies.values()]
    lists += [(row.place, row.id, "covers", row.covers) for row in library.follow_ups.values()]
    lists += [(row.place, row.id, "mends", row.mends) for row in library.follow_ups.values()]
    for place, owner, key, names in lists:
        for number, name in enumerate(names):
            if name in names[:number]:
                wrong = f"{name!r} stands twice under {key!r} of {owner!r}"
                yield draft.problem(place, (key, number), wrong, "delete it here")


def the_deepest_access_stands_alone(draft: Draft) -> Iterator[Problem]:
    """A remedy names no access that another one of its own is within."""
    table = draft.library.access
    if _access_in_circles(draft.library):
        return
    for remedy in draft.library.remedies.values():
        implied: dict[str, str] = {}
        for name in remedy.access:
            outer = table[name].within if name in table else ""
            while outer in table and outer not in implied:
                implied[outer] = name
                outer = table[outer].within
        for number, name in enumerate(remedy.access):
            if name in implied:
                wrong = f"access {name!r} of remedy {remedy.id!r} is opened for {implied[name]!r} anyway"
                yield draft.problem(remedy.place, ("access", number), wrong, "delete it here")


def access_leaves_time_for_the_work(draft: Draft) -> Iterator[Problem]:
    """The hours of a remedy hold its access, and more than that."""
    library = draft.library
    if _access_in_circles(library):
        return
    for remedy in library.remedies.values():
        most = max(
            (access_hours(library, opened(library, remedy, at)) for at in units(library, remedy)),
            default=0.0,
        )
        if most > MOST_ACCESS * remedy.hours + 1e-9:
            wrong = (
                f"the access of remedy {remedy.id!r} takes {most:g} of its {remedy.hours:g} hours; "
                f"at most {MOST_ACCESS * 100:g} of 100 may be access"
            )
            mend = "the hours are those of the whole job alone, access included: correct the one or the other"
            yield draft.problem(remedy.place, ("hours",), wrong, mend)


def what_covers_reaches_what_it_covers(draft: Draft) -> Iterator[Problem]:
    """Each fault of a covered remedy sits, on some car, at a position where the covering one is done."""
    library = draft.library
    mended: dict[str, list[Fault]] = {}
    for fault in library.faults.values():
        mended.setdefault(fault.remedy, []).append(fault)
    for remedy, number, other in _covering(library):
        own = mended.get(remedy.id, [])
        reached = {cause for at in units(library, remedy) for cause, _ in mends(library, remedy, at)}
        for fault in mended.get(other.id, []) if own else ():
            if fault.id not in reached or not any(_some_car(fault.fits, each.fits) for each in own):
                wrong = f"remedy {remedy.id!r} covers {other.id!r}, but does not reach {fault.id!r}"
                mend = "cover only what the same new part brings along, on the same cars, at the same place"
                yield draft.problem(remedy.place, ("covers", number), wrong, mend)
                break


def _access_in_circles(library: Library) -> list[str]:
    from diagnose.library.graph import in_circles

    return in_circles({each.id: (each.within,) for each in library.access.values() if each.within})


def _covering(library: Library) -> Iterator[tuple[Remedy, int, Remedy]]:
    """Every remedy with each of those that it covers, and which in its list."""
    for remedy in library.remedies.values():
        for number, name in enumerate(remedy.covers):
            other = library.remedies.get(name)
            if other is not None and other is not remedy:
                yield remedy, number, other


def _some_car(one: Fits, other: Fits) -> bool:
    return all(set(one[fact]) & set(other[fact]) for fact in one.keys() & other.keys())


#: The demands above; each takes a draft and yields problems, and never raises.
WORK: tuple[Callable[[Draft], Iterator[Problem]], ...] = (
    access_does_not_run_in_a_circle,
    covers_do_not_run_in_a_circle,
    access_and_covers_are_named_once,
    the_deepest_access_stands_alone,
    access_leaves_time_for_the_work,
    what_covers_reaches_what_it_covers,
)
