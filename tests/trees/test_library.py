"""What the shipped trees must be as a whole: every cause can be met with, found and cured, every complaint
can be walked without a lift, the numbers add up to something that a workshop would believe, and limits
quoted from a published source are the published ones.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any

import pytest

from diagnose.belief.belief import Belief
from diagnose.belief.network import Cause
from diagnose.choice.influence import MATERIAL, bare, influences, weigh
from diagnose.library.graph import complaints_raised_by, network
from diagnose.model.check import TALK
from diagnose.model.complaint import Complaint
from diagnose.model.part import Fault
from tests.shipped import LIBRARY

COMPLAINTS = list(LIBRARY.complaints.values())
FAULTS = list(LIBRARY.faults.values())

#: Set-ups for which nobody needs a lift, a rig, a lane or a machine.
NO_LIFT = {"talk", "ground", "ground-helper", "read-out", "road"}


@cache
def belief(complaint: str) -> Belief:
    return bare(LIBRARY, complaint)


# How much there is ----------------------------------------------------------------------------------------


def test_how_much_there_is() -> None:
    assert len(LIBRARY.complaints) >= 60
    assert len(LIBRARY.faults) >= 190
    assert len(LIBRARY.checks) >= 200


def test_every_complaint_stands_in_an_area() -> None:
    assert {complaint.area for complaint in COMPLAINTS} == set(LIBRARY.areas)


#: Words of the trade for what must be there (common practice), one complaint each that they must reach.
MUST = {
    "vague-steering": "vague on centre",
    "steering-free-play": "free play in the steering wheel",
    "heavy-steering": "steering is heavy all the time",
    "heavy-when-parking": "heavy when parking",
    "heavier-one-way": "heavier to the left than to the right",
    "heavy-now-and-then": "steering goes heavy now and then",
    "light-steering": "light steering at speed",
    "notchy-on-centre": "notchy on centre",
    "does-not-self-centre": "wheel does not come back after a bend",
    "kickback": "kickback through the steering wheel over bumps",
    "steering-wheel-off-centre": "steering wheel not straight on a straight road",
    "lazy-turn-in": "lazy turn-in",
    "wander": "wanders all over the road",
    "pull-to-one-side": "pulls to the left all the time",
    "pulls-when-braking": "pulls to one side when I brake",
    "tugs-under-power": "wheel tugs under hard acceleration",
    "darts-over-bumps": "darts over bumps",
    "follows-ruts": "follows ruts",
    "swayed-by-wind": "blown about in side wind and by lorries",
    "trailer-sways": "the trailer snakes",
    "runs-crabwise": "runs crabwise down the road",
    "shimmy": "shimmy",
    "steering-wheel-vibration": "fine vibration in the steering wheel at speed",
    "seat-vibration": "seat vibrates at 110",
    "vibration-under-load": "vibrates only when accelerating",
    "judder-when-braking": "judders when braking",
    "thump-with-the-wheels": "thump once per wheel turn",
    "floaty-rear": "floaty back end",
    "nervous-rear": "nervous rear on the motorway",
    "rear-steps-out-under-power": "back steps out under power",
    "rear-steps-out-lifting-off": "tail swings out when I lift off in a bend",
    "rear-steers-over-bumps": "rear steers over bumps",
    "poor-traction": "no traction out of bends, one wheel spins",
    "wallows-in-bends": "wallows in long bends",
    "rolls-too-much": "leans over too much in bends",
    "pitches-and-dives": "nose dives when braking",
    "bottoms-out": "bottoms out",
    "harsh-ride": "harsh ride",
    "one-corner-low": "one corner sits low",
    "leans-to-one-side": "the car leans to one side when parked",
    "front-clunk-over-bumps": "clunk from the front over bumps",
    "rear-clunk-over-bumps": "clunk from the rear over bumps",
    "clunk-when-steering": "clunk when I turn the steering wheel",
    "creak-or-groan-on-lock": "creaks on full lock",
    "hum-with-speed": "hum that changes in bends",
    "driveline-clunk": "clunk when I come on and off the power",
    "front-camber-one-side": "front camber out on one side",
    "rear-camber-one-side": "rear camber out on one side",
    "front-toe-out-of-range": "front toe out of range",
    "rear-toe-or-thrust-off": "thrust angle out",
    "caster-split": "caster differs left to right",
    "front-inner-edge-wear": "front tyres worn on the inner edge",
    "outer-edge-wear": "tyres worn on the outer edge",
    "both-edges-worn": "both edges of the tyre worn",
    "centre-worn": "tyre worn in the centre",
    "feathered-tread": "feathered tyre tread",
    "cupped-tread": "cupped tyres",
    "flat-spot-in-tread": "flat spot in the tyre",
    "one-tyre-wears": "only one tyre wears",
}


@pytest.mark.parametrize("complaint", MUST)
def test_the_complaints_of_the_trade_are_reached_in_its_words(complaint: str) -> None:
    from diagnose.library.matching import match_complaint

    found = [match.complaint for match in match_complaint(LIBRARY, MUST[complaint])]
    assert complaint in found[:3], found[:6]


# Every cause ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.id)
def test_every_cause_can_be_met_with_settled_and_cured(fault: Fault) -> None:
    """Settled: a finding on the car shows it in more than half, and where it is not in a quarter at most."""
    assert complaints_raised_by(_graph())[fault.id]
    assert LIBRARY.remedies[fault.remedy].hours > 0.0 or fault.danger == ""
    settling = [
        finding.id
        for finding in LIBRARY.findings.values()
        if LIBRARY.checks[finding.check].set_up != TALK
        for link in finding.links
        if link.target == fault.id
        and (
            any(d >= 0.6 and f <= 0.25 for d, f in zip(link.detection, finding.false_alarm, strict=True))
            or (sum(link.detection) >= 0.6 and sum(finding.false_alarm) <= 0.25)
        )
    ]
    assert settling


@cache
def _graph() -> Any:
    return network(LIBRARY)


# Every complaint ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("complaint", COMPLAINTS, ids=lambda complaint: complaint.id)
def test_every_complaint_has_questions_and_a_check_without_a_lift(complaint: Complaint) -> None:
    suspects = {cause.fault for n, cause in enumerate(_causes(complaint)) if n in _suspects(complaint)}
    ground = [
        finding.id
        for finding in LIBRARY.findings.values()
        if LIBRARY.checks[finding.check].set_up in NO_LIFT - {"talk"}
        and any(link.target in suspects for link in finding.links)
    ]
    assert ground
    assert 3 <= len(complaint.questions) <= 12


def _causes(complaint: Complaint) -> tuple[Cause, ...]:
    return belief(complaint.id).causes


def _suspects(complaint: Complaint) -> frozenset[int]:
    return belief(complaint.id).car.suspects()


#: Complaints that one part explains more often than not, as the trade says (common practice).
PLAIN = {
    "click-on-lock": "outer-drive-joint-worn",
    "centre-worn": "tyres-overinflated",
    "both-edges-worn": "tyre-pressures-wrong",
}


@pytest.mark.parametrize("complaint", COMPLAINTS, ids=lambda complaint: complaint.id)
def test_the_bare_complaint_blames_what_a_workshop_would_believe(complaint: Complaint) -> None:
    """Before anything is asked: one to three causes to blame in all, and no certainty about any."""
    found = belief(complaint.id)
    blamed = {found.causes[n].id: float(found.to_blame[n]) for n in found.order()}
    total = sum(blamed.values()) + found.outside
    assert 0.75 <= total <= 3.5, total
    assert found.outside <= 0.4
    first, most = next(iter(blamed.items()))
    if complaint.id in PLAIN:
        assert first.startswith(PLAIN[complaint.id])
    else:
        assert most <= 0.6, first


@pytest.mark.parametrize("complaint", COMPLAINTS, ids=lambda complaint: complaint.id)
def test_a_workshop_meets_a_believable_number_of_faults_with_a_complaint(complaint: Complaint) -> None:
    """Faults of the tree present on the average car that comes with it: more than half, not a dozen."""
    found = belief(complaint.id)
    expected = sum(float(found.present[n]) for n in found.car.suspects())
    assert 0.5 <= expected <= 14.0, expected


@pytest.mark.parametrize("complaint", COMPLAINTS, ids=lambda complaint: complaint.id)
def test_every_question_of_a_complaint_moves_something(complaint: Complaint) -> None:
    idle = [check for check, found in weigh(LIBRARY, complaint.id).questions if found.points < MATERIAL]
    assert idle == []


def test_every_question_is_put_by_some_complaint() -> None:
    put = {check for complaint in COMPLAINTS for check in complaint.questions}
    assert [c.id for c in LIBRARY.checks.values() if c.set_up == TALK and c.id not in put] == []


@pytest.mark.long
def test_every_finding_moves_a_ranking_somewhere() -> None:
    assert [each for each in influences(LIBRARY) if each.points < MATERIAL] == []


# Published limits -----------------------------------------------------------------------------------------

#: What the published sources say, in the unit of our readings: exact figures, or a range where sheets
#: of several makers were seen. Inches and degrees Fahrenheit are converted here.
INCH = 25.4
PUBLISHED: dict[str, list[tuple[str, float, float]]] = {
    # 49 CFR 570.7: lash 2 in at a 16 in wheel; linkage play 1/4 in at the tread.
    "us-570-7": [("mm", 2 * INCH, 2.75 * INCH), ("mm", INCH / 4, INCH / 4)],
    # 49 CFR 570.60: lash as above; linkage play 1/4, 3/8, 1/2 in by rim size.
    "us-570-60": [("mm", 2 * INCH, 2.75 * INCH), ("mm", INCH / 4, INCH / 2)],
    # 49 CFR 570.10: bead area runout 1/8 in.
    "us-570-10": [("mm", INCH / 8, INCH / 8)],
    # COMAR 11.22.03.04: bearing play 1/8 in at the sidewall.
    "us-md-11-22-03": [("mm", INCH / 8, INCH / 8)],
    # MOT manual 2012, 2.2: 13, 48 and 75 mm at a 380 mm wheel; 2.5: king pin 10 mm at a 50 cm wheel.
    "uk-mot-2-2": [("mm", 13, 13), ("mm", 48, 48), ("mm", 75, 75)],
    "uk-mot-2-5": [("mm", 10, 10)],
    # Japanese periodic inspection: 5 mm per m (metres per kilometre are the same number).
    "jp-side-slip": [("m/km", 5, 5), ("mm", 5, 5)],
    # Laboratory sheet on suspension testers: 60, 20 and 15 per cent.
    "adhesion-lab": [("%", 60, 60), ("%", 20, 20), ("%", 15, 15)],
    # Two teaching texts: pull from half a degree of cross camber or cross caster.
    "cross-angle-teaching": [("deg", 0.5, 0.5)],
    # Trade text: pull to the lower axis lean from about one degree.
    "sai-trade-text": [("deg", 1, 1)],
    # Trade text: 20 to 30 degrees F on one axle are normal, 100 apart is drag.
    "disc-temperature-text": [("K", 20 / 1.8, 30 / 1.8), ("K", 100 / 1.8, 100 / 1.8)],
    # Trade text: 1/8 in of free play in a bush.
    "bush-testing-text": [("mm", INCH / 8, INCH / 8)],
    # Teaching text on ride height: 1 in side to side.
    "ride-height-text": [("mm", INCH, INCH)],
    # Trade text on hub rust: 0.05 mm of disc runout.
    "hub-rust-text": [("mm", 0.05, 0.05)],
    # Propshaft angles: under 3 degrees, a pair within 1.
    "joint-angle-text": [("deg", 3, 3), ("deg", 1, 1), ("deg", 0.5, 0.5)],
    # Nose weight: 5 to 7 per cent of the trailer (Europe), 10 to 15 (North America).
    "nose-weight-guide": [("%", 5, 7), ("%", 10, 15)],
    # Imbalance felt: 7 to 28 g.
    "imbalance-feel-text": [("g", 7, 28)],
    # Radial force variation: 80 to 90 N felt, 120 N as a limit.
    "force-variation-text": [("N", 80, 90), ("N", 120, 120)],
    # All-wheel drive: circumference within 1/4 in.
    "all-wheel-tyre-text": [("mm", INCH / 4, INCH / 4)],
    # Brake imbalance: 30 per cent rejects, act at 20 to 25.
    "brake-imbalance-text": [("%", 20, 25), ("%", 30, 30)],
    # Rim effort with assist: under 50 N.
    "rim-effort-text": [("N", 50, 50)],
    # Legal tread depth in the EU and the UK: 1.6 mm (from memory).
    "tyre-tread-legal": [("mm", 1.6, 1.6)],
    # Industry advice on tyre age: replaced at ten years.
    "tyre-age-text": [("years", 10, 10)],
    # Thrust angle: half a degree is noticeable.
    "thrust-angle-text": [("deg", 0.5, 0.5)],
    # Logarithmic decrement: half swings of a damping ratio, worked in the reference tests.
    "log-decrement": [("half swings", 2, 6), ("rises", 1, 4)],
    # GB inspection: 5.3.2 and others give no millimetres; tread 1.6 mm.
    "uk-mot-5": [("mm", 1.6, 1.6)],
    "eu-2014-45": [("%", 30, 30), ("%", 50, 50)],
    # Makers' sheets of several cars: the range seen.
    "maker-sheets": [
        ("mm", 0.03, 0.13),  # disc runout, hub play, hub flange runout
        ("mm", 0.010, 0.030),  # disc thickness variation
        ("mm", 0.25, 0.8),  # rim runout (alloy), ball joint play, propshaft runout
        ("mm", 0.6, 2.0),  # tyre and rim, radial and lateral
        ("mm", 2, 6),  # idler, total
        ("mm", 12, 30),  # ride heights
        ("deg", 0.2, 1.0),  # rear toe, thrust, camber and caster side to side
        ("N", 29, 34),  # rim effort
        ("N", 5, 5),  # rim effort left against right
        ("N m", 0.1, 3.5),  # turning torque of joints
        ("g", 15, 15),  # residual imbalance of a light truck
    ],
}
UNITS = {"percent": "%", "per cent": "%", "°": "deg", "K difference": "K"}


@pytest.mark.parametrize(
    "name", [f.id for f in LIBRARY.findings.values() if f.reading is not None], ids=lambda name: name
)
def test_a_limit_quoted_from_a_source_is_the_published_one(name: str) -> None:
    reading = LIBRARY.findings[name].reading
    assert reading is not None
    unit = UNITS.get(reading.unit, reading.unit)
    for limit in reading.limits:
        published = [source for source in limit.source if source not in ("common-practice", "estimate")]
        if len(published) < len(limit.source):
            continue  # the trade's own figure, near a published one
        for source in published:
            ranges = [(low, high) for of, low, high in PUBLISHED[source] if of == unit]
            assert any(low * 0.98 <= limit.value <= high * 1.02 for low, high in ranges), (
                f"{limit.value} {unit} is not what {source} says"
            )


def test_where_a_feel_limit_stands_beside_an_inspection_limit_both_are_kept() -> None:
    """Inside the inspection limit and outside the feel limit is a result of its own: never one band."""
    both = [
        finding
        for finding in LIBRARY.findings.values()
        if finding.reading is not None and len(finding.reading.limits) >= 2
    ]
    assert len(both) >= 25
    for finding in both:
        assert finding.reading is not None
        first, *rest = finding.reading.limits
        assert all(limit.name != first.name for limit in rest)


def test_ids_say_what_they_are_in_plain_words() -> None:
    """No codes: an id is words, with at most a number among them."""
    for name in (*LIBRARY.complaints, *LIBRARY.faults, *LIBRARY.checks, *LIBRARY.remedies):
        assert re.fullmatch(r"[a-z]+(-([a-z]+|\d+))*", name), name


# Layouts: a cause that a car cannot have, or that cannot act on it, is not named ------------------------

#: complaint -> fact value -> faults that the trade would not name there (common practice).
NOT_ON = {
    "driveline-clunk": {
        "front": {"rear-subframe-bushes-collapsed", "rear-axle-link-bush-worn", "propshaft-joint-worn"},
        "rear": {"lower-arm-rear-bush-torn", "front-subframe-loose", "inner-drive-joint-worn"},
    },
    "steps-aside-with-throttle": {
        "front": {"rear-subframe-bushes-collapsed", "rear-trailing-arm-bush-torn", "leaf-u-bolts-loose"},
        "rear": {"lower-arm-rear-bush-torn", "front-subframe-loose"},
    },
    "poor-traction": {"front": {"rear-damper-faded"}, "rear": {"front-dampers-weak"}},
    "vibration-under-load": {"front": {"rear-subframe-bushes-collapsed", "propshaft-joint-worn"}},
}


@pytest.mark.parametrize("complaint", NOT_ON)
def test_what_only_driven_wheels_can_do_is_said_of_them_alone(complaint: str) -> None:
    for drive, wrong in NOT_ON[complaint].items():
        known = bare(LIBRARY, complaint, {"drive": drive})
        named = {known.causes[n].fault for n in known.car.suspects()}
        assert named & wrong == set(), drive
        unknown = bare(LIBRARY, complaint)
        assert wrong <= {unknown.causes[n].fault for n in unknown.car.suspects()}
