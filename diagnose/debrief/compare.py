"""Two drives, complaint by complaint: what is new, gone, better, unchanged or worse, and what was not driven.

A complaint is compared on the legs on which it was noticed, in either drive, and which both drives drove. If
one of the two did not drive any of them, it is `not-driven`: silence about a leg that was not driven is no
cure. The drive that noticed nothing must also have been as fast there, give or take `SLOWER`.

Swapping the drives turns new into gone and better into worse, and leaves all else as it is.
"""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.debrief.drive import Drive, Impression, Leg
from diagnose.debrief.route import ROUTE
from diagnose.debrief.scale import CONTROL_SHIFT
from diagnose.debrief.scatter import Scatter, as_often, scatter_of, verdict
from diagnose.debrief.shows import is_control, shows
from diagnose.model.library import Library

__all__ = ["CHANGES", "Change", "Figure", "compare"]

#: What may have become of a complaint, in the order in which a page tells it.
CHANGES = ("new", "worse", "not-driven", "unchanged", "better", "gone")

#: By how much (km/h) a silent leg may have been slower than the one on which it was noticed.
SLOWER = 10.0

#: What an impression without a rating stands for, by how surely it was felt, and its scatter (estimate).
UNRATED = {"yes": 5.0, "probably": 8.0, "cannot-tell": 9.0, "probably-not": 9.5, "no": 10.0}
UNRATED_SCATTER = 1.5

#: What silence on a driven leg stands for, and its scatter: a trace may go untold (estimate).
SILENT, SILENT_SCATTER = 9.5, 0.5

#: Answers that count as felt.
_FELT = ("yes", "probably", "cannot-tell")


@dataclass(frozen=True, slots=True)
class Figure:
    """What one drive says of a complaint as a number. told: `rated`, `unrated` (felt only) or `silent`."""

    rating: float
    told: str
    scatter: float = 0.0


@dataclass(frozen=True, slots=True)
class Change:
    """What became of a complaint from one drive to the other.

    change: one of CHANGES. legs: the kinds on which it was compared. missing_before, missing_after: kinds on
    which it was noticed in the other drive, but which this drive did not drive, or not as fast. before,
    after: what was told; None where it was not driven. scatter: None if nothing was compared. share: of pairs
    of drives of an unchanged car, so many differ as much. verdict: `clear`, `perhaps` or `scatter`; "" if
    nothing was compared.
    """

    complaint: str
    side: str | None
    change: str
    legs: tuple[str, ...] = ()
    missing_before: tuple[str, ...] = ()
    missing_after: tuple[str, ...] = ()
    before: Figure | None = None
    after: Figure | None = None
    scatter: Scatter | None = None
    share: float | None = None
    verdict: str = ""

    @property
    def difference(self) -> float | None:
        """Points by which the later rating is higher, that is better; None if nothing was compared."""
        if self.before is None or self.after is None or self.scatter is None:
            return None
        return self.after.rating - self.before.rating


def compare(library: Library, before: Drive, after: Drive, other_car: bool = False) -> tuple[Change, ...]:
    """Every complaint noticed in either drive, the worst news first.

    other_car: `before` is a drive of another car, known to be good. Words that were taken for no complaint
    cannot be compared and are left out.
    """
    found = [
        _change(library, before, after, complaint, side, other_car)
        for complaint, side in _keys(library, before, after)
    ]
    order = list(library.complaints)
    return tuple(
        sorted(
            found,
            key=lambda one: (CHANGES.index(one.change), order.index(one.complaint), one.side or ""),
        )
    )


def _keys(library: Library, before: Drive, after: Drive) -> list[tuple[str, str | None]]:
    """The complaints, with a side each where every impression of both drives tells one."""
    sides: dict[str, set[str | None]] = {}
    for drive in (before, after):
        for _, one in drive.impressions():
            if one.complaint in library.complaints and one.complaint is not None:
                sides.setdefault(one.complaint, set()).add(one.side)
    return [
        (complaint, side)
        for complaint, told in sides.items()
        for side in ((None,) if None in told else tuple(told))
    ]


def _noticed(drive: Drive, complaint: str, side: str | None) -> list[tuple[Leg, Impression]]:
    return [
        (leg, one)
        for leg, one in drive.impressions()
        if one.complaint == complaint and (side is None or one.side == side)
    ]


def _change(
    library: Library, before: Drive, after: Drive, complaint: str, side: str | None, other_car: bool
) -> Change:
    control = is_control(complaint)
    told = [_noticed(drive, complaint, side) for drive in (before, after)]
    felt = [[leg for leg, one in noticed if one.answer(control) in _FELT] for noticed in told]
    where = felt[0] + felt[1] or [leg for noticed in told for leg, _ in noticed]
    kinds = [kind for kind in ROUTE if any(leg.kind == kind for leg in where)]
    least = shows(library.complaints[complaint]).least
    missing: list[list[str]] = [[], []]
    for kind in kinds:
        fast = max(min(leg.high for leg in where if leg.kind == kind) - SLOWER, min(least, _top(where, kind)))
        for at, drive in enumerate((before, after)):
            said = any(leg.kind == kind for leg, _ in told[at])
            if not said and not any(leg.kind == kind and leg.high >= fast for leg in drive.legs):
                missing[at].append(kind)
    legs = [kind for kind in kinds if kind not in missing[0] + missing[1]]
    lacking = (tuple(missing[0]), tuple(missing[1]))
    if not legs:
        # What was told is told; it has nothing to stand beside.
        was, now = (_figure(noticed, kinds, control) if noticed else None for noticed in told)
        return Change(complaint, side, "not-driven", (), *lacking, was, now)
    one, other = (_figure(noticed, legs, control) for noticed in told)
    otherwise = any(_ways(before, kind) != _ways(after, kind) for kind in legs)
    scatter = scatter_of(before, after, otherwise, other_car)
    scatter = scatter.more("nothing told, or told without a rating", one.scatter, other.scatter)
    share = as_often(other.rating - one.rating, scatter.deviation)
    change = _named(one, other, bool(felt[0]), bool(felt[1]), any(lacking))
    return Change(complaint, side, change, tuple(legs), *lacking, one, other, scatter, share, verdict(share))


def _named(before: Figure, after: Figure, had: bool, has: bool, lacking: bool) -> str:
    """What the change is called; `had`, `has`: felt in this drive on any leg."""
    if not had and not has:
        return "unchanged"
    if had != has and not lacking:
        return "new" if has else "gone"
    if before.rating == after.rating:
        return "unchanged"
    return "better" if after.rating > before.rating else "worse"


def _figure(noticed: list[tuple[Leg, Impression]], legs: list[str], control: bool) -> Figure:
    """The worst that was told on these legs, or what silence there stands for."""
    shift = CONTROL_SHIFT if control else 0.0
    figures = [
        Figure(one.rating, "rated")
        if one.rating is not None
        else Figure(UNRATED[one.answer(control)], "unrated", UNRATED_SCATTER)
        for leg, one in noticed
        if leg.kind in legs
    ]
    return min(
        figures, key=lambda figure: figure.rating, default=Figure(SILENT - shift, "silent", SILENT_SCATTER)
    )


def _top(legs: list[Leg], kind: str) -> float:
    return max(leg.high for leg in legs if leg.kind == kind)


def _ways(drive: Drive, kind: str) -> set[tuple[str, float, float, str]]:
    """How the legs of a kind were driven."""
    return {
        (leg.surface.lower(), leg.low, leg.high, leg.manoeuvre.lower())
        for leg in drive.legs
        if leg.kind == kind
    }
