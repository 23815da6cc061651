"""One step ahead: outcomes are probabilities, agree with really answering, and set-ups are counted."""

from __future__ import annotations

import math
from collections.abc import Collection

import numpy as np
import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.choice.cost import OVERHEAD, Cures
from diagnose.choice.lookahead import Outcome, Proposal, Spot, next_checks, open_spots
from diagnose.model.library import Library
from diagnose.model.story import Heard, Seen, Story, Workshop
from diagnose.model.vehicle import Vehicle
from tests.small_trees import SMALL, compiled

#: Two checks with the wheels off, 11 minutes away (by way of the lift), and one that can tell nothing.
MORE = """\
checks:
  - id: lever-the-ends
    name: lever the rod ends
    set-up: wheels-off
    minutes: 4
    how: Lever each end.
    source: estimate
    findings:
      - id: end-gives
        name: the end gives
        where: each-front-corner
        points-to: {rod-end-play: 0.9}
        false-alarm: 0.02
  - id: turn-the-ends
    name: turn the rod ends by hand
    set-up: wheels-off
    minutes: 3
    how: Turn each end.
    source: estimate
    findings:
      - id: end-is-stiff
        name: the end is stiff
        where: each-front-corner
        points-to: {rod-end-tight: 0.9}
        false-alarm: 0.05
  - id: weigh-the-wheels
    name: weigh the wheels
    set-up: lift
    minutes: 2
    how: Weigh each.
    source: estimate
    findings:
      - id: light
        name: a light wheel
        points-to: {tyres-soft: 0.00001}
        false-alarm: 0.5
"""

DRAFT, PROBLEMS = compiled({**SMALL, "more.yaml": MORE})
assert not PROBLEMS
LIBRARY: Library = DRAFT.library
VEHICLE = Vehicle(facts={"steering": "rack"}, km=250_000.0)
STORY = Story(VEHICLE, (Heard("wander"),), (Seen("ask-tyres/long-ago", None, "probably"),))
CAR = Car(LIBRARY, VEHICLE, STORY.complaints)
BELIEF = Belief(CAR, STORY)


def look(
    set_up: str = "talk",
    workshop: Workshop | None = None,
    done: Collection[str] = (),
    only: Collection[str] | None = None,
) -> dict[str, Proposal]:
    shop = workshop or Workshop()
    _, proposals = next_checks(BELIEF, Cures(CAR, shop), shop, set_up, done, only)
    return {proposal.check: proposal for proposal in proposals}


def answered(check: str, spot: Spot | None, level: int) -> list[Seen]:
    """The answers of a check that show just this outcome."""
    seen = []
    for each in open_spots(BELIEF, LIBRARY.checks[check]):
        finding = LIBRARY.findings[each.finding]
        answer = "no"
        if each == spot:
            answer = "yes" if finding.levels == ("yes",) else finding.levels[level - 1]
        seen.append(Seen(each.finding, each.position, answer))
    return seen


def test_every_check_is_looked_at() -> None:
    assert set(look()) == {"rock-the-steering", "lever-the-ends", "turn-the-ends", "weigh-the-wheels"}


@pytest.mark.parametrize("check", sorted(look()))
def test_the_outcomes_of_a_check_are_all_there_is(check: str) -> None:
    outcomes = look()[check].outcomes
    assert sum(outcome.probability for outcome in outcomes) == pytest.approx(1.0, abs=1e-9)
    assert all(0.0 < outcome.probability <= 1.0 for outcome in outcomes)
    mean = sum(outcome.probability * outcome.present for outcome in outcomes)
    assert np.allclose(mean, BELIEF.present, atol=1e-9)


EXACT = [
    pytest.param(check, outcome, id=f"{check}: {outcome.name}, {outcome.spot and outcome.spot.position}")
    for check, proposal in sorted(look().items())
    for outcome in proposal.outcomes
    if outcome.level >= 0 and not (outcome.spot and LIBRARY.findings[outcome.spot.finding].repeats)
]


@pytest.mark.parametrize(("check", "outcome"), EXACT)
def test_an_outcome_is_what_answering_so_would_make_of_it(check: str, outcome: Outcome) -> None:
    story = Story(VEHICLE, STORY.heard, (*STORY.seen, *answered(check, outcome.spot, outcome.level)))
    after = Belief(CAR, story)
    log_ratio = float(after.answer.log_evidence[0]) - float(BELIEF.answer.log_evidence[0])
    # Only the one that a technician cannot tell apart is coarser: a repeat answered "no" is unsure.
    assert outcome.probability == pytest.approx(math.exp(log_ratio), rel=1e-9)
    assert list(outcome.present) == pytest.approx(list(after.present), abs=1e-9)


def test_both_or_more_of_them_is_one_outcome() -> None:
    several = [o for o in look()["lever-the-ends"].outcomes if o.level < 0]
    assert [o.name for o in several] == ["several of these"]
    seen = [Seen("lever-the-ends/end-gives", place) for place in ("front-left", "front-right")]
    after = Belief(CAR, Story(VEHICLE, STORY.heard, (*STORY.seen, *seen)))
    ratio = math.exp(float(after.answer.log_evidence[0]) - float(BELIEF.answer.log_evidence[0]))
    assert several[0].probability == pytest.approx(ratio, rel=1e-6)


# Minutes ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("set_up", "check", "change", "minutes"),
    [
        ("talk", "rock-the-steering", 2.0, 7.0),
        ("ground", "rock-the-steering", 0.0, 5.0),
        ("talk", "lever-the-ends", 11.0, 15.0),  # by way of the lift: 6 and 5, not 12
        ("wheels-off", "lever-the-ends", 0.0, 4.0),
        ("lift", "lever-the-ends", 5.0, 9.0),
        ("wheels-off", "weigh-the-wheels", 5.0, 7.0),
    ],
)
def test_a_change_of_set_up_counts(set_up: str, check: str, change: float, minutes: float) -> None:
    proposal = look(set_up)[check]
    assert (proposal.change, proposal.minutes) == (change, minutes)


def test_being_there_already_saves_the_change() -> None:
    there, away = look("wheels-off", only=["lever-the-ends"]), look("talk", only=["lever-the-ends"])
    difference = there["lever-the-ends"].saving_minutes - away["lever-the-ends"].saving_minutes
    assert difference == pytest.approx(11.0)


def test_a_change_that_others_need_as_well_is_shared() -> None:
    """Alone the check bears the whole change; with another one waiting there, half of it."""
    alone = look("talk", only=["lever-the-ends"])["lever-the-ends"]
    both = look("talk", only=["lever-the-ends", "turn-the-ends"])
    waiting = both["turn-the-ends"]
    worth_its_own = waiting.saving_minutes + waiting.change / waiting.shares > 0.0
    shares = 2 if worth_its_own else 1
    assert (alone.shares, both["lever-the-ends"].shares) == (1, shares)
    expected = alone.saving_minutes + 11.0 * (1.0 - 1.0 / shares)
    assert both["lever-the-ends"].saving_minutes == pytest.approx(expected)


def test_two_checks_worth_their_minutes_share() -> None:
    """The same check twice under two ids: each is charged half of the way there."""
    twin = MORE.replace("lever-the-ends", "lever-them-again")
    draft, problems = compiled(
        {**SMALL, "more.yaml": MORE, "twin.yaml": twin.split("  - id: turn-the-ends")[0]}
    )
    assert not problems
    car = Car(draft.library, VEHICLE, STORY.complaints)
    belief, shop = Belief(car, STORY), Workshop()
    names = ["lever-the-ends", "lever-them-again"]
    alone = next_checks(belief, Cures(car, shop), shop, "talk", only=names[:1])[1][0]
    assert alone.saving > 0.0
    both = next_checks(belief, Cures(car, shop), shop, "talk", only=names)[1]
    assert [p.check for p in both] == names
    for proposal in both:
        assert proposal.shares == 2
        assert proposal.saving_minutes == pytest.approx(alone.saving_minutes + 5.5)
        assert proposal.minutes == alone.minutes


# What is left out, and what is worth nothing ------------------------------------------------------------


@pytest.mark.parametrize(
    ("cannot", "left"),
    [
        ("rock-the-steering", {"lever-the-ends", "turn-the-ends", "weigh-the-wheels"}),
        ("helper", {"lever-the-ends", "turn-the-ends", "weigh-the-wheels"}),
        ("wheels-off", {"rock-the-steering", "weigh-the-wheels"}),
        ("lift", {"rock-the-steering", "lever-the-ends", "turn-the-ends"}),
    ],
)
def test_what_the_workshop_cannot_do_is_left_out(cannot: str, left: set[str]) -> None:
    assert set(look(workshop=Workshop(cannot=frozenset({cannot})))) == left


def test_what_is_done_is_left_out() -> None:
    assert set(look(done=["lever-the-ends", "weigh-the-wheels"])) == {"rock-the-steering", "turn-the-ends"}


def test_only_narrows() -> None:
    assert set(look(only=["turn-the-ends", "ask-tyres"])) == {"turn-the-ends"}
    assert look(only=[]) == {}


def test_a_check_that_this_car_does_not_allow_is_left_out() -> None:
    vehicle = Vehicle(facts={"steering": "box"})
    story = Story(vehicle, (Heard("wander"),))
    car = Car(LIBRARY, vehicle, story.complaints)
    _, proposals = next_checks(Belief(car, story), Cures(car, Workshop()), Workshop(), "talk")
    # No rocking with a box, and no tight rod ends that could be turned.
    assert {p.check for p in proposals} == {"ask-tyres", "lever-the-ends", "weigh-the-wheels"}


def test_a_check_that_cannot_change_anything_saves_nothing() -> None:
    proposal = look()["weigh-the-wheels"]
    cost = proposal.minutes + OVERHEAD - proposal.change * (1.0 - 1.0 / proposal.shares)
    assert proposal.saving_minutes == pytest.approx(-cost, abs=0.01)
    assert proposal.saving == pytest.approx(-Workshop().labour(cost), abs=0.02)


def test_what_pays_comes_first_here_before_elsewhere_and_by_worth() -> None:
    for set_up in ("talk", "ground", "lift", "wheels-off"):
        _, proposals = next_checks(BELIEF, Cures(CAR, Workshop()), Workshop(), set_up)
        order = [(p.saving <= 0.0, p.saving > 0.0 and p.change > 0.0, -p.worth) for p in proposals]
        assert order == sorted(order)
    assert proposals[0].check == "lever-the-ends"  # the car stands there, and it pays


def test_worth_is_the_saving_before_cost_over_the_cost() -> None:
    for proposal in look().values():
        cost = proposal.minutes + OVERHEAD - proposal.change * (1.0 - 1.0 / proposal.shares)
        assert proposal.worth == pytest.approx((proposal.saving_minutes + cost) / cost)
        assert (proposal.worth > 1.0) == (proposal.saving > 0.0)


def test_savings_grow_with_the_rate_of_labour_minutes_do_not() -> None:
    cheap, dear = Workshop(labour_rate=50.0), Workshop(labour_rate=150.0)
    low, high = look(workshop=cheap), look(workshop=dear)
    for check in low:
        assert high[check].saving == pytest.approx(3.0 * low[check].saving)
        assert high[check].saving_minutes == pytest.approx(low[check].saving_minutes)


def test_spots_already_answered_are_not_asked_again() -> None:
    seen = (*STORY.seen, Seen("lever-the-ends/end-gives", "front-left", "no"))
    belief = Belief(CAR, Story(VEHICLE, STORY.heard, seen))
    assert open_spots(belief, LIBRARY.checks["lever-the-ends"]) == [
        Spot("lever-the-ends/end-gives", "front-right")
    ]
    assert open_spots(belief, LIBRARY.checks["ask-tyres"]) == []


def test_a_repeat_of_a_complaint_not_heard_is_not_asked() -> None:
    story = Story(VEHICLE, (Heard("pull", "left"),))
    belief = Belief(Car(LIBRARY, VEHICLE, story.complaints), story)
    asked = {spot.finding for spot in open_spots(belief, LIBRARY.checks["rock-the-steering"])}
    assert "rock-the-steering/wander-felt" not in asked
    assert "rock-the-steering/wander-felt" in {
        spot.finding for spot in open_spots(BELIEF, LIBRARY.checks["rock-the-steering"])
    }
