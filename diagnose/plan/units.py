"""The work that a plan may choose from: each remedy at its place, with all that decides about it.

What a unit of work does for the car beyond the complaint is put in money as well:

- parts that are worn but silent, and parts that will wear out while the car is kept, would have to be renewed
  later, by themselves, with all the access and follow-ups that they then need: `later` is the chance of it;
- the new part may have to be renewed again in that time: `again`;
- a fault behind the complaint that makes the car unfit to drive, or one that fails the annual inspection.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.belief.belief import Belief
from diagnose.belief.network import clocks
from diagnose.belief.rounds import reach
from diagnose.choice.cost import DANGER_HOURS, DRIVE_MINUTES, Cure, Cures
from diagnose.model.complaint import Gate, leaves
from diagnose.model.library import Library, Remedy
from diagnose.model.part import REFERENCE_KM, REFERENCE_YEARS, Life
from diagnose.model.position import axle_of
from diagnose.model.story import Workshop
from diagnose.model.work import access_hours, covered, due, mends, opened
from diagnose.plan.life import WEARS, fails_within
from diagnose.plan.offers import again, best_offer, cheapest, offers_of
from diagnose.plan.wishes import Offer, Wishes

__all__ = ["AT_A_SHOP", "FAILS", "RETEST_HOURS", "SILENT", "Pay", "Unit", "now", "units_of"]

Array = NDArray[np.float64]

#: Follow-ups that need equipment which few have at home: paid for by the hour also by those who do the rest
#: themselves (common practice).
AT_A_SHOP = frozenset(
    {
        "front-toe",
        "four-wheel-alignment",
        "angle-sensor-zero",
        "camera-aim",
        "balance-wheels",
        "clear-codes",
        "height-learn",
    }
)

#: P(a part that is worn and not felt will have to be renewed while the car is kept), where it can be felt at
#: all (estimate).
SILENT = 0.5

#: P(an inspector finds a fault that is present plain enough to fail the car) (estimate).
FAILS = 0.5

#: Hours that a failed inspection costs: a second way there, a second test (estimate).
RETEST_HOURS = 1.5

#: Blame below which no work is considered for the complaint.
LITTLE = 0.003


@dataclass(frozen=True, slots=True)
class Pay:
    """What work costs: money an hour. at_shop: at the workshop. own: what the owner's own hour is worth, who
    does what can be done at home; None where all is paid for."""

    at_shop: float
    own: float | None = None

    def cash(self, minutes: float, follow_up: str = "") -> float:
        """Money to be paid on the day for so many minutes, of a follow-up where one is named."""
        return 0.0 if self._at_home(follow_up) else self.at_shop * minutes / 60.0

    def worth(self, minutes: float, follow_up: str = "") -> float:
        """What they cost all the same: the owner's own time counts."""
        rate = self.own if self._at_home(follow_up) and self.own is not None else self.at_shop
        return rate * minutes / 60.0

    def _at_home(self, follow_up: str) -> bool:
        return self.own is not None and follow_up not in AT_A_SHOP


@dataclass(frozen=True)
class Unit:
    """One remedy at one place.

    parts: causes (indices) that its own parts put right, and those that it covers. ends: these, and what the
    work that must follow puts right in passing. offers: those to choose from; offer: the one taken. minutes:
    of labour beyond the access it shares. opened: access with its place. follow_ups: ids, without what others
    cover. hours: of the whole job alone, follow-ups aside. alone: money for all of it, done by itself. blame:
    P(one of its parts' faults is behind a complaint); there: P(one is present). bad: P(what is fitted is bad
    and raises the complaint). later, again: as said above. value: money that doing it saves beyond the
    complaint, less what renewing again costs. safety: cures (by number) that danger alone calls for and that
    it carries out. inspection: items of the inspection that its faults fail; failing: P(one of these is
    present); fails: causes that are as likely present as not and fail it.
    """

    cure: Cure
    remedy: Remedy
    parts: frozenset[int]
    ends: frozenset[int]
    offers: tuple[Offer, ...]
    offer: Offer
    minutes: float
    opened: tuple[tuple[str, str], ...]
    follow_ups: tuple[str, ...]
    hours: float
    alone: float
    blame: float
    there: float
    bad: float
    later: float
    again: float
    value: float
    safety: frozenset[int]
    inspection: tuple[str, ...]
    failing: float
    fails: frozenset[int]

    @property
    def name(self) -> str:
        """`remedy@place`, as it is typed."""
        return f"{self.remedy.id}@{self.cure.place}"

    @property
    def price(self) -> float:
        """Money for the parts, by the offer taken."""
        return float(self.offer.price)


def now(belief: Belief) -> tuple[Array, Array]:
    """P(present now) and P(to blame now) of each cause, shape (N,): of what stands there after repairs."""
    blame = belief.to_blame.copy()
    network = belief.car.plain.network
    for cause, new in belief.car.renewed.items():
        if isinstance(new, str):
            # An event of several ways to fail: it raises what the old part alone would.
            raises = max((reach(network, cause, top) for top in belief.car.complaints), default=0.0)
            blame[cause] = belief.new_is_bad(cause) * raises
        else:
            blame[cause] = float(belief.answer.to_blame[0][new])
    return belief.now, blame


def _felt(library: Library) -> Mapping[str, float]:
    """Fault -> the most that it is felt in any tree: its greatest strength."""
    found: dict[str, float] = {}

    def take(gate: Gate) -> None:
        for leaf in leaves(gate):
            found[leaf.fault] = max(found.get(leaf.fault, 0.0), leaf.strength)

    for complaint in library.complaints.values():
        take(complaint.top)
    for gate in library.mechanisms.values():
        take(gate)
    return found


def units_of(
    belief: Belief, cures: Cures, wishes: Wishes, workshop: Workshop, cheap: bool = False
) -> list[Unit]:
    """All work that may be worth considering for this car.

    cheap: take of each remedy the offer that needs the least cash, not the one that costs least in the long
    run. Work on another axle than `wishes.only`, or without an offer that is wanted, is left out.
    """
    present, blame = now(belief)
    must = {number: frozenset(cures.all[number].causes) for number in cures.for_safety(present, blame)}
    maker = _Maker(belief, wishes, workshop, present, blame, must, cheap)
    found = []
    for cure in cures.all:
        unit = maker.unit(cure)
        if unit is not None:
            found.append(unit)
    return found


class _Maker:
    def __init__(
        self,
        belief: Belief,
        wishes: Wishes,
        workshop: Workshop,
        present: Array,
        blame: Array,
        must: Mapping[int, frozenset[int]],
        cheap: bool,
    ) -> None:
        self.belief, self.wishes, self.workshop = belief, wishes, workshop
        self.library = belief.car.library
        self.present, self.blame, self.must, self.cheap = present, blame, must, cheap
        self.suspects = belief.car.suspects()
        self.felt = _felt(self.library)
        self.pay = Pay(workshop.labour_rate, wishes.own_rate)

    def unit(self, cure: Cure) -> Unit | None:
        library, wishes = self.library, self.wishes
        remedy = library.remedies[cure.remedy]
        follow = due(library, remedy.follow_ups)
        follow_ups = tuple(each.id for each in follow)
        parts = self._parts(cure, remedy)
        ends = parts | self._passing(follow_ups)
        blame = _any(self.blame[list(parts)])
        if wishes.only is not None and any(
            axle_of(self.belief.causes[n].position) not in (wishes.only, None) for n in cure.causes
        ):
            return None
        offers = offers_of(remedy, wishes, self.workshop)
        if not offers:
            return None
        hours = wishes.hours.get(remedy.id, remedy.hours)
        access = opened(library, remedy, cure.place)
        minutes = max(hours - access_hours(library, access), 0.0) * 60.0
        labour = self.pay.worth(hours * 60.0) + sum(
            self.pay.worth(each.minutes, each.id) + self.workshop.parts(each.parts) for each in follow
        )
        lives = list(self._lives(parts))
        keep = (wishes.keep_km, wishes.keep_years)
        offer = cheapest(offers) if self.cheap else best_offer(offers, lives, labour, *keep)[0]
        once_more = again(offer, lives, *keep)
        alone = float(offer.price) + labour + self.pay.worth(DRIVE_MINUTES)
        later = self._later(parts)
        safety = frozenset(number for number, causes in self.must.items() if causes <= parts)
        inspection, failing, fails = self._inspection(parts)
        value = (later - once_more) * alone + self._danger(parts)
        if wishes.deadline is not None or "inspection" in wishes.cares:
            retest = self.workshop.labour(RETEST_HOURS * 60.0)
            value += wishes.cares_for("inspection") * FAILS * failing * retest
        marginal = float(offer.price) + self.pay.worth(minutes)
        if blame < LITTLE and not safety and value <= marginal:
            return None
        if not (self.suspects & parts) and value <= marginal:
            return None
        return Unit(
            cure,
            remedy,
            parts,
            ends,
            offers,
            offer,
            minutes,
            access,
            follow_ups,
            hours,
            alone,
            blame,
            _any(self.present[list(parts)]),
            self._bad(parts, offer.badness),
            later,
            once_more,
            value,
            safety,
            inspection,
            failing,
            fails,
        )

    def _passing(self, follow_ups: Iterable[str]) -> frozenset[int]:
        """Causes that the work which must follow puts right in passing."""
        table = self.library.follow_ups
        names = {*follow_ups, *covered(table, follow_ups)}
        mended = {remedy for name in names for remedy in table[name].mends}
        return frozenset(
            n
            for n, cause in enumerate(self.belief.causes)
            if self.library.faults[cause.fault].remedy in mended
        )

    def _parts(self, cure: Cure, remedy: Remedy) -> frozenset[int]:
        """Causes that its own parts and those that it covers put right."""
        mended = set(mends(self.library, remedy, cure.place))
        return frozenset(cure.causes) | {
            n for n, cause in enumerate(self.belief.causes) if (cause.fault, cause.position) in mended
        }

    def _bad(self, ends: frozenset[int], badness: float) -> float:
        """P(what is fitted is bad and raises a complaint), as the belief reckons it after a repair: each
        fault anew, and felt as the old one alone would be."""
        car = self.belief.car
        network = car.plain.network
        tops = [each for each in car.complaints if each in network.nodes]
        sound = 1.0
        for n in ends & self.suspects:
            sound *= 1.0 - badness * max((reach(network, n, top) for top in tops), default=0.0)
        return min(1.0 - sound, 1.0 - 1e-9)

    def _lives(self, ends: frozenset[int]) -> Iterator[Life]:
        """The lives by which the new part wears, each fault once."""
        faults = {self.belief.causes[n].fault for n in ends}
        for name in sorted(faults):
            life = self.library.faults[name].life
            if life is not None:
                yield life

    def _later(self, ends: frozenset[int]) -> float:
        """P(it will have to be done while the car is kept, although it is not behind the complaint)."""
        vehicle, wishes = self.belief.story.vehicle, self.wishes
        spared = 1.0
        for n in ends:
            cause = self.belief.causes[n]
            fault = self.library.faults[cause.fault]
            felt = 1.0 if fault.danger == "stop" else self.felt.get(fault.id, 0.0)
            there, acts = float(self.present[n]), float(self.blame[n])
            need = max(there - acts, 0.0) * SILENT
            if fault.life is not None and fault.life.shape >= WEARS and n not in self.belief.car.cured:
                km, years = clocks(vehicle, fault.part, cause.position)
                need += (1.0 - there) * fails_within(
                    fault.life,
                    REFERENCE_KM if km is None else km,
                    REFERENCE_YEARS if years is None else years,
                    wishes.keep_km,
                    wishes.keep_years,
                )
            spared *= 1.0 - min(need * felt, 1.0)
        return 1.0 - spared

    def _danger(self, ends: frozenset[int]) -> float:
        """Money put on faults behind the complaint that make the car unfit to drive."""
        stop = [n for n in ends if self.library.faults[self.belief.causes[n].fault].danger == "stop"]
        return (
            self.wishes.cares_for("safety")
            * self.workshop.labour(DANGER_HOURS * 60.0)
            * float(self.blame[stop].sum())
        )

    def _inspection(self, parts: frozenset[int]) -> tuple[tuple[str, ...], float, frozenset[int]]:
        items: dict[str, None] = {}
        sound = 1.0
        fails = set()
        for n in sorted(parts):
            fault = self.library.faults[self.belief.causes[n].fault]
            if fault.inspection:
                items[fault.inspection] = None
                sound *= 1.0 - float(self.present[n])
                if self.present[n] >= FAILS:
                    fails.add(n)
        return tuple(items), 1.0 - sound, frozenset(fails)


def _any(p: Array) -> float:
    return float(1.0 - np.prod(1.0 - p))
