"""What follows from a sheet: totals, thrust, differences left to right, included angles, crab.

Every figure says what it was computed from; where it cannot be computed it says what is missing. Signs are
those of `diagnose.geometry`: differences are left less right, thrust and crab count to the right.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields
from functools import partial

from diagnose.angles.sheet import Sheet, Spot
from diagnose.errors import InputError
from diagnose.geometry.axle import (
    crab_offset,
    cross,
    included_angle,
    setback_angle,
    setback_distance,
    thrust_angle,
    toe_against,
)
from diagnose.geometry.demo import DEMO_STRUT, DEMO_WISHBONE
from diagnose.geometry.linkage import Linkage, camber_change
from diagnose.geometry.toe import total_toe

__all__ = ["Derived", "Figure", "derived"]


@dataclass(frozen=True, slots=True)
class Figure:
    """A derived value: rad, or m where `length`; None where it cannot be computed.

    of: what it was computed from, in words. missing: what it needs and the sheet does not have.
    """

    value: float | None
    of: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    length: bool = False


@dataclass(frozen=True, slots=True)
class Derived:
    """All that follows from one sheet. Sides: against the thrust line each front wheel by itself.

    camber_of_height_*: the difference of camber, left less right, that the difference of ride height would
    make on the demo linkage of that layout: its size, not its second digit.
    """

    total_toe_front: Figure
    total_toe_rear: Figure
    thrust: Figure
    toe_to_thrust_left: Figure
    toe_to_thrust_right: Figure
    cross_camber_front: Figure
    cross_camber_rear: Figure
    cross_caster: Figure
    cross_inclination: Figure
    included_left: Figure
    included_right: Figure
    cross_included: Figure
    set_back: Figure
    set_back_length: Figure
    crab: Figure
    camber_of_height_front: Figure
    camber_of_height_rear: Figure

    def items(self) -> Iterator[tuple[str, Figure]]:
        """Every figure with its name."""
        for each in fields(self):
            yield each.name, getattr(self, each.name)


def derived(sheet: Sheet) -> Derived:
    """Everything that follows from the sheet; what cannot be computed is a Figure without value, no error."""
    thrust = _thrust(sheet)
    toes = [_against(sheet, thrust, side) for side in (0, 1)]
    included = [_included(sheet, side) for side in ("left", "right")]
    return Derived(
        total_toe_front=_total(sheet, "front"),
        total_toe_rear=_total(sheet, "rear"),
        thrust=thrust,
        toe_to_thrust_left=toes[0],
        toe_to_thrust_right=toes[1],
        cross_camber_front=_cross(sheet, "front", "camber"),
        cross_camber_rear=_cross(sheet, "rear", "camber"),
        cross_caster=_cross(sheet, "front", "caster"),
        cross_inclination=_cross(sheet, "front", "inclination"),
        included_left=included[0],
        included_right=included[1],
        cross_included=_joined(cross, *included),
        set_back=_set_back(sheet, length=False),
        set_back_length=_set_back(sheet, length=True),
        crab=_crab(sheet, thrust),
        camber_of_height_front=_of_height(sheet, "front"),
        camber_of_height_rear=_of_height(sheet, "rear"),
    )


def _spots(axle: str, angle: str) -> tuple[Spot, Spot]:
    return Spot(axle, "left", angle), Spot(axle, "right", angle)


def _known(words: str, value: float | None) -> Figure:
    """A measured value as a figure: itself, or missing."""
    return Figure(None, (), (words,)) if value is None else Figure(value, (words,))


def _read(sheet: Sheet, *places: Spot) -> list[Figure]:
    return [_known(spot.words, sheet.value(spot)) for spot in places]


def _joined(formula: Callable[..., float], *inputs: Figure, length: bool = False) -> Figure:
    """What the formula makes of the inputs, with all that these were computed from, or miss."""
    missing = tuple(dict.fromkeys(each for one in inputs for each in one.missing))
    if missing or any(one.value is None for one in inputs):
        return Figure(None, (), missing, length)
    of = tuple(dict.fromkeys(each for one in inputs for each in one.of))
    try:
        return Figure(formula(*(one.value for one in inputs)), of, (), length)
    except InputError as error:
        return Figure(None, of, (f"a value that can be: {error}",), length)


def _or_given(computed: Figure, spot: Spot, sheet: Sheet) -> Figure:
    """What was computed, or else the value that the sheet gives for it."""
    given = sheet.value(spot)
    if computed.value is not None or given is None:
        return computed
    return Figure(given, (f"{spot.words} as given",))


def _total(sheet: Sheet, axle: str) -> Figure:
    computed = _joined(total_toe, *_read(sheet, *_spots(axle, "toe")))
    return _or_given(computed, Spot(axle, "", "total-toe"), sheet)


def _thrust(sheet: Sheet) -> Figure:
    computed = _joined(thrust_angle, *_read(sheet, *_spots("rear", "toe")))
    return _or_given(computed, Spot("rear", "", "thrust"), sheet)


def _against(sheet: Sheet, thrust: Figure, side: int) -> Figure:
    """Toe of one front wheel against the thrust line; of the other wheel nothing is needed."""
    (toe,) = _read(sheet, _spots("front", "toe")[side])

    def formula(push: float, one: float) -> float:
        return toe_against(push, one, one)[side]

    return _joined(formula, thrust, toe)


def _cross(sheet: Sheet, axle: str, angle: str) -> Figure:
    return _joined(cross, *_read(sheet, *_spots(axle, angle)))


def _included(sheet: Sheet, side: str) -> Figure:
    parts = _read(sheet, Spot("front", side, "inclination"), Spot("front", side, "camber"))
    return _or_given(_joined(included_angle, *parts), Spot("front", side, "included"), sheet)


def _set_back(sheet: Sheet, length: bool) -> Figure:
    """Front set-back as wanted: as it was read, or turned by the track."""
    as_length, as_angle = _read(sheet, Spot("front", "", "set-back-length"), Spot("front", "", "set-back"))
    wanted, other = (as_length, as_angle) if length else (as_angle, as_length)
    if wanted.value is not None or other.value is None:
        return Figure(wanted.value, wanted.of, wanted.missing, length)
    track = _known("front track", sheet.car.front_track)
    formula = setback_distance if length else setback_angle
    return _joined(formula, other, track, length=length)


def _crab(sheet: Sheet, thrust: Figure) -> Figure:
    return _joined(crab_offset, thrust, _known("wheelbase", sheet.car.wheelbase), length=True)


def _of_height(sheet: Sheet, axle: str) -> Figure:
    layout = sheet.car.front if axle == "front" else sheet.car.rear
    linkages: dict[str, Linkage] = {"strut": DEMO_STRUT, "double-wishbone": DEMO_WISHBONE}
    linkage = linkages.get(layout)
    heights = _joined(lambda left, right: right - left, *_read(sheet, *_spots(axle, "height")))
    if linkage is None:
        what = f"a linkage to compute with: {axle} layout strut or double-wishbone"
        return Figure(None, (), (*heights.missing, what))
    found = _joined(partial(_camber_of, linkage), heights)
    of = (*found.of, f"demo {layout.replace('-', ' ')}") if found.of else ()
    return Figure(found.value, of, found.missing)


def _camber_of(linkage: Linkage, lower: float) -> float:
    """Camber, left less right, of a car that stands lower on the left by so much, half on either side."""
    one = camber_change(linkage, travel=lower / 2.0)
    return one - camber_change(linkage, travel=-lower / 2.0)
