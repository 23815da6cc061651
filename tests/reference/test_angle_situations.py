"""Wheel-angle sheets that move the ranking as a geometry specialist would expect, each with its reason.

Sources. "Table": the classic table of steering-axis inclination, camber and included angle, for struts and
for double wishbones: rows from memory; each follows from geometry, since moving a pivot leaves the included
angle and bending what carries axis and wheel changes it; a worked reading of both kinds in a textbook, quoted
by a student (trees/sources.yaml, student-textbook-quote). "Glossary": alignment glossary and two teaching
texts on pull from camber and caster, from half a degree on. "Thrust": two makers' manuals, thrust is half of
left less right rear toe, and a trade text on thrust angle. The rest is common practice, and says so.
The cars and all their numbers are demo.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import pytest

from diagnose.angles.evidence import said
from diagnose.angles.sheet import Allowed, Axle, Sheet, Specification, Wheel
from diagnose.belief.belief import Belief, Car
from diagnose.model.story import Heard, Story
from diagnose.model.vehicle import Vehicle
from tests.shipped import LIBRARY

STRUT = {"front": "strut", "steering": "electric-rack", "rear": "twist-beam", "driven": "front"}
LINKS = {"front": "strut", "steering": "electric-rack", "rear": "multi-link", "driven": "front"}
WISHBONES = {"front": "double-wishbone", "steering": "hydraulic-rack", "rear": "multi-link", "driven": "rear"}

#: (axle, angle) -> low, nominal, high, in degrees; and whether it can be set.
FIGURES = {
    ("front", "camber"): (-1.25, -0.5, 0.25, False),
    ("front", "caster"): (2.75, 3.5, 4.25, False),
    ("front", "inclination"): (12.25, 13.0, 13.75, False),
    ("front", "total-toe"): (0.05, 0.2, 0.35, True),
    ("rear", "camber"): (-1.5, -1.0, -0.5, None),
    ("rear", "total-toe"): (0.1, 0.3, 0.5, None),
}


def figures(**changed: bool) -> Specification:
    """The demo specification; `camber=True` says that front camber can be set, `rear=True` rear camber."""
    able = {("front", "camber"): changed.get("camber"), ("rear", "camber"): changed.get("rear")}
    rows = []
    for (axle, angle), (low, middle, high, adjustable) in FIGURES.items():
        told = able.get((axle, angle))
        rows.append(
            (
                axle,
                angle,
                Allowed(
                    math.radians(low),
                    math.radians(high),
                    math.radians(middle),
                    None,
                    adjustable if told is None else told,
                ),
            )
        )
    return Specification(tuple(rows))


Pair = tuple[float, float]


def sheet(
    camber: Pair = (-0.5, -0.5),
    caster: Pair = (3.5, 3.5),
    lean: Pair | None = (13.0, 13.0),
    toe: Pair = (0.1, 0.1),
    rear_camber: Pair = (-1.0, -1.0),
    rear_toe: Pair = (0.15, 0.15),
    set_back: float = 0.0,
    heights: tuple[float, float, float, float] | None = (370.0, 370.0, 380.0, 380.0),
    given: Specification | None = None,
) -> Sheet:
    """A sound demo car in degrees and mm, but for what is said. set_back: right wheel further back positive.
    heights: front left, front right, rear left, rear right."""

    def wheel(side: int, front: bool) -> Wheel:
        height = None if heights is None else heights[side + (0 if front else 2)] / 1000.0
        if not front:
            return Wheel(math.radians(rear_camber[side]), toe=math.radians(rear_toe[side]), height=height)
        return Wheel(
            math.radians(camber[side]),
            math.radians(caster[side]),
            None if lean is None else math.radians(lean[side]),
            toe=math.radians(toe[side]),
            height=height,
        )

    return Sheet(
        front=Axle(wheel(0, True), wheel(1, True), set_back_length=set_back / 1000.0),
        rear=Axle(wheel(0, False), wheel(1, False)),
        specification=given if given is not None else figures(),
    )


@dataclass(frozen=True)
class Situation:
    """first: the cause then most to blame. above: pairs, the first more to blame than the second.

    rises, falls: against the complaint alone. favours: (cause, cause, factor): the odds of the first over the
    second grow by so much at least.
    """

    why: str
    complaint: str
    sheet: Sheet
    side: str | None = None
    car: dict[str, str] = field(default_factory=lambda: STRUT)
    again: Sheet | None = None
    after: Sheet | None = None
    first: str = ""
    above: tuple[tuple[str, str], ...] = ()
    rises: tuple[str, ...] = ()
    falls: tuple[str, ...] = ()
    favours: tuple[tuple[str, str, float], ...] = ()


LEANS_IN = (-2.2, -0.5)
SITUATIONS = {
    "strut: lean right, camber and included angle less": Situation(
        "Table, strut: bent strut or knuckle, or its bolts slipped; body, arm and subframe are cleared.",
        "front-camber-one-side",
        sheet(camber=LEANS_IN),
        "left",
        first="front-strut-bent-front-left",
        above=(("strut-bolts-slipped-front-left", "lower-arm-bent-front-left"),),
        rises=(
            "front-strut-bent-front-left",
            "strut-bolts-slipped-front-left",
            "front-knuckle-bent-front-left",
        ),
        falls=("front-subframe-shifted", "lower-arm-bent-front-left", "front-camber-set-unevenly"),
    ),
    "strut: leans more, camber less, included angle right": Situation(
        "Table, strut: the tower stands in at the top; a bent strut would have changed the included angle.",
        "front-camber-one-side",
        sheet(camber=LEANS_IN, lean=(14.7, 13.0)),
        "left",
        first="front-structure-rusted-front-left",
        rises=("front-structure-rusted-front-left",),
        favours=(
            ("front-structure-rusted-front-left", "front-strut-bent-front-left", 5.0),
            ("front-structure-rusted-front-left", "front-knuckle-bent-front-left", 10.0),
        ),
    ),
    "strut: leans less, camber more, included angle right": Situation(
        "Table, strut: the lower pivot stands inboard, a bent lower arm.",
        "front-camber-one-side",
        sheet(camber=(1.2, -0.5), lean=(11.3, 13.0)),
        "left",
        first="lower-arm-bent-front-left",
        favours=(("lower-arm-bent-front-left", "front-strut-bent-front-left", 10.0),),
    ),
    "strut: one side leans less, the other more, camber to match": Situation(
        "Own geometry: the subframe has moved sideways as a whole; both included angles are right.",
        "front-camber-one-side",
        sheet(camber=(0.7, -1.7), lean=(11.8, 14.2)),
        "left",
        first="front-subframe-shifted",
        above=(("front-subframe-shifted", "body-bent"),),
        falls=("front-strut-bent-front-left",),
    ),
    "strut: everything of one wheel is off": Situation(
        "Table, strut: less, less, less is a bend of the part with the wheel *and* a moved pivot: no single"
        " clean picture, so bent parts lead and a shift of the whole subframe does not.",
        "front-camber-one-side",
        sheet(camber=(-2.2, -0.5), lean=(11.3, 13.0)),
        "left",
        above=(
            ("front-strut-bent-front-left", "front-subframe-shifted"),
            ("front-strut-bent-front-left", "front-spring-broken-front-left"),
        ),
        rises=("front-strut-bent-front-left",),
    ),
    "double wishbone: lean right, camber and included angle less": Situation(
        "Table, double wishbone: bent knuckle.",
        "front-camber-one-side",
        sheet(camber=LEANS_IN),
        "left",
        WISHBONES,
        first="front-knuckle-bent-front-left",
        falls=("lower-arm-bent-front-left",),
    ),
    "double wishbone: leans less, camber more, included angle right": Situation(
        "Table, double wishbone: bent lower arm.",
        "front-camber-one-side",
        sheet(camber=(1.2, -0.5), lean=(11.3, 13.0)),
        "left",
        WISHBONES,
        first="lower-arm-bent-front-left",
        above=(("lower-arm-bent-front-left", "front-knuckle-bent-front-left"),),
    ),
    "double wishbone: leans more, camber less, included angle right": Situation(
        "Table, double wishbone: the upper joint has come in; on a worn car its bushes (common practice).",
        "front-camber-one-side",
        sheet(camber=(-1.6, -0.5), lean=(14.1, 13.0)),
        "left",
        WISHBONES,
        first="upper-arm-bush-worn-front-left",
        above=(("upper-arm-bush-worn-front-left", "front-knuckle-bent-front-left"),),
    ),
    "camber out at a corner that stands low": Situation(
        "Common practice: height before angles; a broken spring leans the wheel in, nothing is bent.",
        "front-camber-one-side",
        sheet(camber=(-1.8, -0.5), lean=None, heights=(360.0, 385.0, 380.0, 384.0)),
        "left",
        first="front-spring-broken-front-left",
        above=(("front-spring-broken-front-left", "front-strut-bent-front-left"),),
        falls=("front-strut-bent-front-left",),
    ),
    "both front wheels lean in alike": Situation(
        "Common practice: both alike means height, not damage: tired springs, lowered car.",
        "front-inner-edge-wear",
        sheet(camber=(-1.9, -1.9), lean=None),
        first="front-springs-low",
    ),
    "camber cannot be set on this car": Situation(
        "Common practice: what cannot be set was not set wrongly.",
        "pull-to-one-side",
        sheet(camber=(0.1, -0.8), lean=None),
        "left",
        falls=("front-camber-set-unevenly",),
    ),
    "camber can be set and stands uneven to the side of the pull": Situation(
        "Glossary: from half a degree it pulls to the more positive side; both in range, so nothing is bent.",
        "pull-to-one-side",
        sheet(camber=(0.1, -0.8), given=figures(camber=True)),
        "left",
        first="front-camber-set-unevenly",
        falls=("tyre-conicity-front-left",),
    ),
    "caster lower on the side of the pull": Situation(
        "Glossary: it pulls to the side with less caster.",
        "pull-to-one-side",
        sheet(caster=(2.3, 3.6)),
        "left",
        first="caster-uneven",
        rises=("lower-arm-rear-bush-torn-front-left",),
        falls=("tyre-conicity-front-left", "road-crown-or-wind"),
    ),
    "caster lower on the side away from the pull": Situation(
        "Glossary: those angles ask for the other side, so they are not why; a tyre, a brake or the road is.",
        "pull-to-one-side",
        sheet(caster=(2.3, 3.6)),
        "right",
        above=(
            ("tyre-low-front-right", "caster-uneven"),
            ("front-caliper-dragging-front-right", "caster-uneven"),
        ),
        rises=("tyre-conicity-front-left",),
    ),
    "a clean sheet with a pull": Situation(
        "Trade text on inclination and common practice: with all angles right, look to tyres, brakes, road.",
        "pull-to-one-side",
        sheet(),
        "left",
        rises=("tyre-conicity-front-left", "tyre-low-front-left", "front-caliper-dragging-front-left"),
        falls=(
            "front-camber-set-unevenly",
            "caster-uneven",
            "front-subframe-shifted",
            "front-strut-bent-front-right",
        ),
    ),
    "total toe out, half of it at either wheel": Situation(
        "Common practice: an even error is a setting; a bend would sit at one wheel.",
        "feathered-tread",
        sheet(toe=(0.35, 0.35)),
        first="front-toe-wrong",
        above=(("front-toe-wrong", "tie-rod-bent-front-left"),),
    ),
    "all of the toe error at one wheel": Situation(
        "Common practice: a bent tie rod or a slipped locknut, not a setting of the axle.",
        "front-toe-out-of-range",
        sheet(toe=(-0.5, 0.1)),
        rises=("tie-rod-bent-front-left", "tie-rod-locknut-loose-front-left"),
        favours=(("tie-rod-bent-front-left", "front-toe-wrong", 2.5),),
    ),
    "toe error, set-back and less caster at one wheel": Situation(
        "Teaching text on set-back and common practice: the arm took a blow and went back.",
        "front-toe-out-of-range",
        sheet(toe=(-0.5, 0.1), set_back=-14.0, caster=(2.5, 3.5), camber=(0.1, -0.5), lean=(12.0, 13.0)),
        first="lower-arm-bent-front-left",
    ),
    "total toe right, but split the opposite way": Situation(
        "Common practice: nothing wears, the rim stands crooked: it was not centred when toe was set.",
        "steering-wheel-off-centre",
        sheet(toe=(0.4, -0.2)),
        first="steering-wheel-set-crooked",
        falls=("rear-axle-thrust-off", "front-toe-set-without-rear"),
    ),
    "front even to the body, thrust half a degree off": Situation(
        "Thrust: the front follows the thrust line, the rim turns; the rear axle, or a front set without it.",
        "steering-wheel-off-centre",
        sheet(rear_toe=(0.65, -0.35)),
        first="front-toe-set-without-rear",
        above=(("rear-axle-thrust-off", "steering-wheel-set-crooked"),),
        rises=("rear-axle-thrust-off", "front-toe-set-without-rear"),
        falls=("steering-wheel-set-crooked",),
    ),
    "thrust off on a twist beam, seen on the rig": Situation(
        "Thrust and common practice: the beam sits askew or its bushes gave; sagged springs do not turn it.",
        "rear-toe-or-thrust-off",
        sheet(rear_toe=(0.65, -0.35)),
        first="rear-axle-thrust-off",
        rises=("twist-beam-bush-torn-rear-left", "rear-axle-thrust-off"),
        falls=("rear-springs-sagged",),
    ),
    "rear camber out at one wheel, and it would not be set": Situation(
        "Common practice: an adjuster or bush rusted solid, or a bend behind it; it is no mere setting.",
        "rear-camber-one-side",
        sheet(rear_camber=(-2.6, -1.0), given=figures(rear=True)),
        "left",
        LINKS,
        after=sheet(rear_camber=(-2.5, -1.0), given=figures(rear=True)),
        rises=(
            "rear-adjuster-seized-rear-left",
            "rear-bush-seized-rear-left",
            "rear-carrier-bent-rear-left",
        ),
        above=(("rear-adjuster-seized-rear-left", "rear-adjuster-slipped-rear-left"),),
        falls=("rear-toe-wrong",),
    ),
    "toe that does not repeat": Situation(
        "Common practice: what moves between two readings is play, and no setting will hold.",
        "front-toe-out-of-range",
        sheet(toe=(0.4, 0.1)),
        again=sheet(toe=(0.15, 0.1)),
        rises=("outer-tie-rod-end-play-front-left", "tie-rod-locknut-loose-front-left"),
    ),
    "set-back and less caster at one wheel": Situation(
        "Teaching text on set-back: the wheel went back, arm or bush; not a setting alone.",
        "caster-split",
        sheet(caster=(2.0, 3.5), set_back=-15.0),
        "left",
        first="lower-arm-rear-bush-torn-front-left",
        rises=("lower-arm-rear-bush-torn-front-left", "caster-uneven", "front-structure-rusted-front-left"),
    ),
}


def beliefs(situation: Situation) -> tuple[Belief, Belief]:
    vehicle = Vehicle(facts=situation.car, km=150_000.0, years=11)
    told = {situation.complaint: situation.side}
    car = Car(LIBRARY, vehicle, told)
    heard = (Heard(situation.complaint, situation.side),)
    answers = said(LIBRARY, situation.sheet, told, situation.again, situation.after).answers
    assert answers
    return Belief(car, Story(vehicle, heard)), Belief(car, Story(vehicle, heard, answers))


def blame(belief: Belief, cause: str) -> float:
    return float(next(p for each, p in zip(belief.causes, belief.to_blame, strict=True) if each.id == cause))


@pytest.mark.parametrize("name", SITUATIONS)
def test_the_sheet_moves_the_ranking_as_a_specialist_would(name: str) -> None:
    situation = SITUATIONS[name]
    before, after = beliefs(situation)
    ranked = [after.causes[number].id for number in after.order()]
    shown = [
        (each, round(100 * blame(after, each), 1), round(100 * blame(before, each), 1)) for each in ranked[:6]
    ]
    if situation.first:
        assert ranked[0] == situation.first, shown
    for one, other in situation.above:
        assert blame(after, one) > blame(after, other), (one, other, shown)
    for cause in situation.rises:
        assert blame(after, cause) > blame(before, cause), (cause, blame(before, cause), blame(after, cause))
    for cause in situation.falls:
        assert blame(after, cause) < blame(before, cause), (cause, blame(before, cause), blame(after, cause))
    for one, other, factor in situation.favours:
        grown = blame(after, one) / blame(after, other) / (blame(before, one) / blame(before, other))
        assert grown >= factor, (one, other, grown)


def test_a_second_reading_tells_play_from_a_setting() -> None:
    """Common practice: set nothing that does not repeat."""
    once = SITUATIONS["toe that does not repeat"]
    _, twice = beliefs(once)
    _, alone = beliefs(replace(once, again=None))
    _, steady = beliefs(replace(once, again=once.sheet))
    play, setting = "outer-tie-rod-end-play-front-left", "front-toe-wrong"
    odds = [blame(each, play) / blame(each, setting) for each in (steady, alone, twice)]
    assert odds[0] < odds[1] < odds[2]
    assert odds[2] > 2.5 * odds[0]


def test_there_are_twenty_situations_at_least() -> None:
    assert len(SITUATIONS) >= 20


def test_every_situation_mirrors() -> None:
    """Left and right swapped: the same answers at the other side."""
    from diagnose.angles.mirror import mirrored

    swap = {"front-left": "front-right", "front-right": "front-left", "rear-left": "rear-right"}
    swap |= {"rear-right": "rear-left", "left": "right", "right": "left"}
    for situation in SITUATIONS.values():
        told = {situation.complaint: situation.side}
        turned = {situation.complaint: swap.get(situation.side or "")}
        one = said(LIBRARY, situation.sheet, told).answers
        other = said(LIBRARY, mirrored(situation.sheet), turned).answers
        expected = {replace(each, position=swap.get(each.position or "", each.position)) for each in one}
        assert {(e.finding, e.position, e.answer) for e in expected} == {
            (e.finding, e.position, e.answer) for e in other
        }
