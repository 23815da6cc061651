"""What a wheel-angle sheet says as answers to checks of the trees: each number where it tells something.

A number goes in with what it repeats to, so that one near a limit counts for both sides of it. What the
sheet lacks is named and left open; nothing is guessed. The same numbers are never told twice: where the
range of each wheel is known, the difference of both says nothing of its own unless both are in range.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from diagnose.angles.derive import Derived, derived
from diagnose.angles.sheet import SIDES, Allowed, Sheet, Spot
from diagnose.model.check import REPEATABILITY_OF_SPREAD, beyond
from diagnose.model.library import Library
from diagnose.model.story import Seen

__all__ = ["ANSWERED", "Said", "said"]

#: Where lean and included angle count as wrong, if the car's range is not told (rad): a trade text for the
#: lean; common practice for the included angle.
LEAN_WRONG, INCLUDED_WRONG = math.radians(1.0), math.radians(0.7)

#: A shift of the whole subframe leans both axes at least so far from their figure, to opposite sides (rad).
MIRRORED_FROM = math.radians(0.5)

#: One front wheel that has so much more of the toe than the other turns the rim (rad): 0.15 degrees at a
#: ratio of 16 is a rim 2.4 degrees off (own arithmetic).
SPLIT_FROM = math.radians(0.15)

#: Angles that ask for a side do so from half a degree (two teaching texts), rad.
PULLS_FROM = math.radians(0.5)

#: A sound car repeats within 0.05 degrees of toe and 0.1 of camber (common practice), rad; what is read
#: twice must differ by clearly more. The rear is asked for 0.1 degrees in the trees.
TOE_HOLDS, CAMBER_HOLDS, REAR_TOE_HOLDS = (math.radians(x) for x in (0.08, 0.15, 0.1))

#: Both rear wheels lean in by more than this past their range (rad); the trees ask so.
BOTH_LEAN = math.radians(0.5)

#: What is surer than this is sure.
SURE = 0.99

CAMBER, TOE, LEAN, SET_BACK = (
    "read-front-camber-and-caster",
    "read-front-toe",
    "read-steering-axis-lean",
    "read-set-back",
)
PULL, TWICE, REAR = "weigh-the-angles-against-the-pull", "read-the-angles-twice", "rear-rig-angles"
FRONT_SET, REAR_SET = "try-the-front-adjusters", "set-the-rear-angle"
FRONT_HEIGHT, REAR_HEIGHT = "measure-front-height", "rear-ride-heights"

#: Checks that a sheet can answer, in the order in which they are told.
ANSWERED = (FRONT_HEIGHT, REAR_HEIGHT, REAR, CAMBER, LEAN, SET_BACK, TOE, PULL, TWICE, FRONT_SET, REAR_SET)

#: Complaint whose side the angles are weighed against.
PULLS = "pull-to-one-side"


@dataclass(frozen=True, slots=True)
class Said:
    """What a sheet says: answers, those of one check together, and in words what it leaves open."""

    answers: tuple[Seen, ...]
    left_open: tuple[str, ...]

    @property
    def checks(self) -> tuple[str, ...]:
        """The checks that are answered, in order."""
        return tuple(dict.fromkeys(each.check for each in self.answers))

    def of(self, check: str) -> tuple[Seen, ...]:
        """The answers to one check."""
        return tuple(each for each in self.answers if each.check == check)


def said(
    library: Library,
    sheet: Sheet,
    complaints: Mapping[str, str | None],
    again: Sheet | None = None,
    after: Sheet | None = None,
) -> Said:
    """Answers to the checks of this library. complaints: those told, with their sides.

    again: a second reading of the same car, nothing set in between. after: a reading after what can be set
    was set; it tells how each wheel that was out took it. Checks and findings that the library does not have
    are passed over. Never raises: whatever is missing is left open.
    """
    teller = _Teller(library, sheet, complaints, again, after)
    found = [each for each in teller.all() if each is not None]
    order = {check: number for number, check in enumerate(ANSWERED)}
    found.sort(key=lambda each: order[each.check])
    return Said(tuple(found), tuple(dict.fromkeys(teller.left_open)))


class _Teller:
    def __init__(
        self,
        library: Library,
        sheet: Sheet,
        complaints: Mapping[str, str | None],
        again: Sheet | None,
        after: Sheet | None,
    ) -> None:
        self.library, self.sheet, self.complaints = library, sheet, complaints
        self.again, self.after = again, after
        self.figures: Derived = derived(sheet)
        self.left_open: list[str] = []
        repeats = sheet.repeatability
        self.camber, self.caster, self.lean, self.toe = (
            each / REPEATABILITY_OF_SPREAD
            for each in (repeats.camber, repeats.caster, repeats.inclination, repeats.toe)
        )

    def all(self) -> Iterator[Seen | None]:
        yield from self._heights()
        yield from self._rear()
        yield from self._front_camber()
        yield from self._caster()
        yield from self._lean()
        yield from self._set_back()
        yield from self._front_toe()
        yield from self._pull()
        if self.again is not None:
            yield from self._twice(self.again)
        if self.after is not None:
            yield from self._set(self.after)

    # Answers ------------------------------------------------------------------------------------------

    def _number(self, check: str, finding: str, place: str | None, value: float) -> Seen | None:
        """A reading in the unit of its finding: degrees or millimetres."""
        row = self.library.findings.get(f"{check}/{finding}")
        if row is None or row.reading is None:
            return None
        # A hair of rounding must not lie between two equal angles.
        value = round(value, 6)
        level = row.reading.level(value)
        return Seen(row.id, place, row.levels[level - 1] if level else row.none, value)

    def _likely(self, check: str, finding: str, place: str | None, *above: float) -> Seen | None:
        """An answer from the probability of each state above "not seen"."""
        row = self.library.findings.get(f"{check}/{finding}")
        if row is None or len(row.levels) != len(above):
            return None
        shares = (max(1.0 - sum(above), 0.0), *above)
        best = max(range(len(shares)), key=lambda state: shares[state])
        word = (
            row.none if best == 0 and row.levels != ("yes",) else "no" if best == 0 else row.levels[best - 1]
        )
        if shares[best] >= SURE * sum(shares):
            return Seen(row.id, place, word)
        return Seen(row.id, place, word, shares=tuple(round(each / sum(shares), 4) for each in shares))

    def _read(self, axle: str, angle: str) -> tuple[float | None, float | None]:
        left, right = (self.sheet.value(Spot(axle, side, angle)) for side in SIDES)
        for side, value in zip(SIDES, (left, right), strict=True):
            if value is None:
                self.left_open.append(f"{axle} {side} {angle} was not read")
        return left, right

    def _allowed(self, axle: str, angle: str) -> Allowed:
        return self.sheet.specification.of(axle, angle)

    # Front --------------------------------------------------------------------------------------------

    def _front_camber(self) -> Iterator[Seen | None]:
        cambers, allowed = self._read("front", "camber"), self._allowed("front", "camber")
        if allowed.adjustable is not None:
            yield self._likely(CAMBER, "can-be-set", "front", 1.0 if allowed.adjustable else 0.0)
        inside = True
        if allowed.has_range:
            for side, camber in zip(SIDES, cambers, strict=True):
                if camber is None:
                    continue
                place = f"front-{side}"
                more_in = -math.inf if allowed.low is None else allowed.low - camber
                more_out = -math.inf if allowed.high is None else camber - allowed.high
                yield self._number(CAMBER, "leans-in-here", place, max(math.degrees(more_in), 0.0))
                yield self._number(CAMBER, "leans-out-here", place, max(math.degrees(more_out), 0.0))
                inside = inside and max(more_in, more_out) <= 0.0
        else:
            self.left_open.append("no range of front camber is told: each wheel is judged by the other only")
        cross = self.figures.cross_camber_front.value
        if cross is not None and inside:
            yield self._number(CAMBER, "camber-difference", "front", abs(math.degrees(cross)))

    def _caster(self) -> Iterator[Seen | None]:
        left, right = self._read("front", "caster")
        if left is not None and right is not None:
            for side, lower in zip(SIDES, (right - left, left - right), strict=True):
                reading = max(math.degrees(lower), 0.0)
                yield self._number(CAMBER, "caster-lower-here", f"front-{side}", reading)
            low = self._allowed("front", "caster").low
            if low is not None:
                both = _below(left, low, self.caster) * _below(right, low, self.caster)
                yield self._likely(CAMBER, "both-casters-low", "front", both)

    def _lean(self) -> Iterator[Seen | None]:
        leans = self._read("front", "inclination")
        included = (self.figures.included_left.value, self.figures.included_right.value)
        allowed = self._allowed("front", "inclination")
        for number, side in enumerate(SIDES):
            lean, angle = leans[number], included[number]
            lean_range = self._range("inclination", leans[1 - number], 1 - number, LEAN_WRONG)
            angle_range = self._range("included", included[1 - number], 1 - number, INCLUDED_WRONG)
            if lean is None or angle is None or lean_range is None or angle_range is None:
                if lean is not None:
                    self.left_open.append(
                        f"whether the axis or the wheel of the front {side} is off: its figures are not told"
                    )
                continue
            of_both = math.hypot(self.lean, self.camber)
            less, more = _below(lean, lean_range[0], self.lean), _above(lean, lean_range[1], self.lean)
            smaller, larger = _below(angle, angle_range[0], of_both), _above(angle, angle_range[1], of_both)
            right, same = max(1.0 - less - more, 0.0), max(1.0 - smaller - larger, 0.0)
            yield self._likely(
                LEAN,
                "pattern",
                f"front-{side}",
                right * smaller,
                right * larger,
                less * same,
                more * same,
                (less + more) * (smaller + larger),
            )
        middle = _middle(allowed)
        if middle is not None and None not in (*leans, *included):
            left, right_lean = (each - middle for each in leans if each is not None)
            one, other = (each for each in included if each is not None)
            alike = _within(one - other, INCLUDED_WRONG, math.sqrt(2.0) * math.hypot(self.lean, self.camber))
            turned = sum(
                _below(a, -MIRRORED_FROM, self.lean) * _above(b, MIRRORED_FROM, self.lean)
                for a, b in ((left, right_lean), (right_lean, left))
            )
            yield self._likely(LEAN, "mirrored", "front", alike * min(turned, 1.0))

    def _range(
        self, angle: str, mate: float | None, mate_number: int, about: float
    ) -> tuple[float, float] | None:
        """Where an angle is right: the car's range; else near its mate, if that wheel's camber is in range;
        else, for the included angle, near the sum of the car's inclination and camber."""
        allowed = self._allowed("front", angle)
        if allowed.has_range:
            return (
                -math.inf if allowed.low is None else allowed.low,
                math.inf if allowed.high is None else allowed.high,
            )
        camber = self.sheet.value(Spot("front", SIDES[mate_number], "camber"))
        of_camber = self._allowed("front", "camber")
        if mate is not None and camber is not None and of_camber.has_range and of_camber.holds(camber):
            return mate - about, mate + about
        # Both wheels are off, or the range of camber is not told: the sum of the car's own figures is left.
        lean, upright = self._allowed("front", "inclination"), _middle(of_camber)
        middle = _middle(lean)
        if angle != "included" or middle is None or upright is None:
            return None
        half = max(about, (lean.high or middle) - middle)
        return middle + upright - half, middle + upright + half

    def _set_back(self) -> Iterator[Seen | None]:
        found = self.figures.set_back_length
        if found.value is None:
            self.left_open.append(f"set-back: {', '.join(found.missing)} missing")
            return
        for side, back in zip(SIDES, (-found.value, found.value), strict=True):
            yield self._number(SET_BACK, "set-back-here", f"front-{side}", max(1000.0 * back, 0.0))

    def _front_toe(self) -> Iterator[Seen | None]:
        toes = self._read("front", "toe")
        of_wheel, of_total = self._allowed("front", "toe"), self._allowed("front", "total-toe")
        total = self.figures.total_toe_front.value
        total_spread = math.sqrt(2.0) * self.toe
        if not of_total.has_range and of_wheel.has_range:
            of_total = _times(of_wheel, 2.0)
        if not of_wheel.has_range:
            of_wheel = _times(of_total, 0.5)
        if not of_total.has_range:
            self.left_open.append("no range of front toe is told")
            return
        out = None
        if total is not None:
            out = _outside(total, of_total, total_spread)
            yield self._likely(TOE, "total-toe-out-of-range", "front", out)
        if toes[0] is None or toes[1] is None:
            return
        push = self.figures.thrust.value
        if push is None:
            self.left_open.append("the toe of each front wheel against the thrust line: rear toe is missing")
        to_thrust = (toes[0] - (push or 0.0), toes[1] + (push or 0.0))
        wrong = [_outside(each, of_wheel, 1.5 * self.toe) for each in to_thrust]
        for number, side in enumerate(SIDES):
            here = wrong[number] * (1.0 - wrong[1 - number])
            yield self._likely(TOE, "toe-error-at-one-wheel", f"front-{side}", here)
        if push is None or out is None:
            return
        split_body, split_push = (toes[0] - toes[1]) / 2.0, (to_thrust[0] - to_thrust[1]) / 2.0
        crooked = 1.0 - _within(split_push, SPLIT_FROM, self.toe)
        even = _within(split_body, SPLIT_FROM, self.toe)
        yield self._likely(TOE, "set-to-the-body", None, crooked * even)
        yield self._likely(TOE, "even-split-of-opposite-sign", "front", (1.0 - out) * crooked * (1.0 - even))

    # Rear, heights ------------------------------------------------------------------------------------

    def _rear(self) -> Iterator[Seen | None]:
        cambers, allowed = self._read("rear", "camber"), self._allowed("rear", "camber")
        self._read("rear", "toe")
        total, middle = self.figures.total_toe_rear.value, _middle(self._total_rear())
        if total is not None and middle is not None:
            yield self._number(REAR, "total-toe-off", None, abs(math.degrees(total - middle)))
        if self.figures.thrust.value is not None:
            yield self._number(REAR, "thrust-off", None, abs(math.degrees(self.figures.thrust.value)))
        if cambers[0] is None or cambers[1] is None:
            return
        for number, side in enumerate(SIDES):
            more_in = math.degrees(cambers[1 - number] - cambers[number])  # type: ignore[operator]
            yield self._number(REAR, "rear-camber-differs", f"rear-{side}", max(more_in, 0.0))
        if allowed.low is not None:
            both = math.prod(_below(each, allowed.low - BOTH_LEAN, self.camber) for each in cambers if each)
            yield self._likely(REAR, "both-lean-in", None, both)

    def _total_rear(self) -> Allowed:
        of_total, of_wheel = self._allowed("rear", "total-toe"), self._allowed("rear", "toe")
        return of_total if of_total.has_range else _times(of_wheel, 2.0)

    def _heights(self) -> Iterator[Seen | None]:
        front = [self.sheet.value(Spot("front", side, "height")) for side in SIDES]
        rear = [self.sheet.value(Spot("rear", side, "height")) for side in SIDES]
        if front[0] is not None and front[1] is not None:
            for side, lower in zip(SIDES, (front[1] - front[0], front[0] - front[1]), strict=True):
                reading = max(1000.0 * lower, 0.0)
                yield self._number(FRONT_HEIGHT, "front-corner-low", f"front-{side}", reading)
        if None not in (*front, *rear):
            left, right = (((f or 0.0) + (r or 0.0)) / 2.0 for f, r in zip(front, rear, strict=True))
            for side, lower in zip(SIDES, (right - left, left - right), strict=True):
                yield self._number(REAR_HEIGHT, "side-low", side, max(1000.0 * lower, 0.0))

    # Against the pull, and twice ----------------------------------------------------------------------

    def _pull(self) -> Iterator[Seen | None]:
        side = self.complaints.get(PULLS)
        camber, caster = self.figures.cross_camber_front.value, self.figures.cross_caster.value
        if PULLS not in self.complaints:
            return
        if side is None or camber is None or caster is None:
            self.left_open.append(
                "whether the angles ask for the pull: its side, and camber and caster of both, are needed"
            )
            return
        # To the side of more camber, and of less caster; both count alike (half a degree each pulls).
        to_left = camber - caster
        spread = math.sqrt(2.0) * math.hypot(self.camber, self.caster)
        left, right = _above(to_left, PULLS_FROM, spread), _below(to_left, -PULLS_FROM, spread)
        own, other = (left, right) if side == "left" else (right, left)
        yield self._likely(PULL, "side-that-the-angles-ask-for", "front", other, own)

    def _twice(self, again: Sheet) -> Iterator[Seen | None]:
        def moved(axle: str, side: str, angle: str, holds: float, spread: float) -> float | None:
            spot = Spot(axle, side, angle)
            one, other = self.sheet.value(spot), again.value(spot)
            if one is None or other is None:
                return None
            return 1.0 - _within(other - one, holds, math.sqrt(2.0) * spread)

        toes = [moved("front", side, "toe", TOE_HOLDS, self.toe) for side in SIDES]
        if toes[0] is not None and toes[1] is not None:
            either = 1.0 - (1.0 - toes[0]) * (1.0 - toes[1])
            yield self._likely(TWICE, "toe-does-not-repeat", "front", either)
        for side in SIDES:
            camber = moved("front", side, "camber", CAMBER_HOLDS, self.camber)
            if camber is not None:
                yield self._likely(TWICE, "camber-does-not-repeat", f"front-{side}", camber)
            toe = moved("rear", side, "toe", REAR_TOE_HOLDS, self.toe)
            if toe is not None:
                yield self._likely(REAR, "toe-does-not-repeat", f"rear-{side}", toe)

    def _set(self, after: Sheet) -> Iterator[Seen | None]:
        """How each wheel that was out, and can be set, took it. What was not out tells nothing."""
        for side in SIDES:
            out, still = self._outs(after, "front", side, ("camber", "caster"))
            if out is not None and still is not None:
                # Out all the same: nobody told whether the adjuster was stuck or at its end.
                left = out * still / 2.0
                yield self._likely(
                    FRONT_SET, "angle-when-set", f"front-{side}", out * (1.0 - still), left, left
                )
            out, still = self._outs(after, "rear", side, ("camber", "toe"))
            if out is not None and still is not None:
                yield self._likely(
                    REAR_SET, "angle-when-set", f"rear-{side}", out * (1.0 - still), out * still
                )

    def _outs(
        self, after: Sheet, axle: str, side: str, angles: tuple[str, ...]
    ) -> tuple[float | None, float | None]:
        """P(the angle of this wheel that can be set and was furthest out was out), and P(it still is)."""
        found: tuple[float | None, float | None] = (None, None)
        for angle in angles:
            allowed, spot = self._allowed(axle, angle), Spot(axle, side, angle)
            if axle == "rear" and angle == "toe" and not allowed.has_range:
                allowed = _times(self._allowed("rear", "total-toe"), 0.5)
            one, other = self.sheet.value(spot), after.value(spot)
            if one is None or other is None or not allowed.has_range or allowed.adjustable is not True:
                continue
            spread = {"camber": self.camber, "caster": self.caster, "toe": self.toe}[angle]
            out = _outside(one, allowed, spread)
            if out >= 0.5 and out > (found[0] or 0.0):
                found = out, _outside(other, allowed, spread)
        return found


def _below(value: float, limit: float, spread: float) -> float:
    """P(the true value is below the limit), a normal spread about the reading."""
    return beyond((limit - value) / spread)


def _above(value: float, limit: float, spread: float) -> float:
    return 1.0 - _below(value, limit, spread)


def _within(value: float, limit: float, spread: float) -> float:
    """P(the true value is no further than the limit from 0)."""
    return _below(value, limit, spread) - _below(value, -limit, spread)


def _outside(value: float, allowed: Allowed, spread: float) -> float:
    low = 0.0 if allowed.low is None else _below(value, allowed.low, spread)
    high = 0.0 if allowed.high is None else _above(value, allowed.high, spread)
    return min(low + high, 1.0)


def _middle(allowed: Allowed) -> float | None:
    if allowed.nominal is not None:
        return allowed.nominal
    return None if allowed.low is None or allowed.high is None else (allowed.low + allowed.high) / 2.0


def _times(allowed: Allowed, factor: float) -> Allowed:
    def scaled(value: float | None) -> float | None:
        return None if value is None else value * factor

    return Allowed(
        scaled(allowed.low), scaled(allowed.high), scaled(allowed.nominal), None, allowed.adjustable
    )
