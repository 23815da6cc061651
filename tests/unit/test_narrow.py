"""A narrowed belief: as good as the exact one where it counts, and itself where it need not be less."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.belief.engine import Engine
from diagnose.belief.narrow import NARROW, _by_how_well_explained, _Steps, narrowed
from diagnose.choice.cost import Cures
from diagnose.choice.lookahead import look_ahead
from diagnose.choice.outcomes import unanswered
from diagnose.model.story import Heard, Round, Seen, Story, Workshop
from diagnose.model.vehicle import Vehicle
from diagnose.trials.cars import draw, heard
from tests.shipped import LIBRARY
from tests.small_trees import SMALL, compiled

#: Layout of a demo car.
FACTS = {"front": "strut", "steering": "rack", "rear": "twist-beam", "driven": "front"}


def wide(complaint: str, seed: int, enough: int) -> Belief:
    """A demo car of many faults, looked at here and there until so many findings have shown something."""
    car = Car(LIBRARY, Vehicle(facts=FACTS, km=240_000.0, years=17), {complaint: None})
    random = np.random.default_rng(seed)
    drawn = max(draw(car, 30, random), key=lambda each: len(each.present & car.suspects()))
    seen: tuple[Seen, ...] = ()
    for check in random.permutation(np.array(list(car.checks), dtype=object)):
        spots = unanswered(car, Story(car.vehicle, heard(car), seen), car.checks[check])
        seen += tuple(drawn.answer(spot, frozenset()) for spot in spots)
        if sum(each.answer != "no" for each in seen) >= enough:
            break
    return Belief(car, Story(car.vehicle, heard(car), seen))


#: Complaints under which a belief grows wide; all but one take a while.
WIDE = [
    "bottoms-out",
    pytest.param("vague-steering", marks=pytest.mark.long),
    pytest.param("front-inner-edge-wear", marks=pytest.mark.long),
]


@pytest.fixture(scope="module", params=WIDE)
def belief(request: pytest.FixtureRequest) -> Belief:
    cars = (wide(request.param, seed, 18) for seed in range(1, 20))
    return next(each for each in cars if each.answer.width > 2 * NARROW)


def test_it_is_narrower_and_what_is_present_stays(belief: Belief) -> None:
    other = narrowed(belief)
    assert other.answer.width < belief.answer.width
    assert len(other.weights) < len(belief.weights)
    # The factors are fitted to these.
    assert np.abs(other.present - belief.present).max() < 0.006
    assert other.outside == pytest.approx(belief.outside, abs=0.006)
    assert other.there == pytest.approx(belief.there, abs=0.006)
    # What the story says stays whole: nothing that was answered is asked again.
    assert other.story == belief.story


@pytest.mark.slow
def test_the_check_chosen_from_it_loses_next_to_nothing(belief: Belief) -> None:
    workshop = Workshop()
    cures = Cures(belief.car, workshop)
    exact = look_ahead(belief, cures, workshop, "raised")
    quick = look_ahead(narrowed(belief), cures, workshop, "raised")
    costs = {each.check: each.cost for each in exact.proposals}
    assert quick.proposals[0].check in costs
    assert costs[quick.proposals[0].check] - costs[exact.proposals[0].check] < 0.02 * exact.now


def test_what_is_narrow_enough_stays_itself(belief: Belief) -> None:
    assert narrowed(belief, belief.answer.width) is belief


@pytest.mark.slow
def test_after_repairs_the_trees_of_earlier_rounds_are_left_out() -> None:
    heard = (Heard("shimmy"), Heard("pulls-when-braking", "left"))
    vehicle = Vehicle(facts=FACTS, km=180_000.0, years=12)
    car = Car(LIBRARY, vehicle, {each.complaint: each.side for each in heard})
    still = tuple(Heard(each.complaint, each.side, "yes", "road-test") for each in heard)
    first = car.causes[Belief(car, Story(vehicle, heard)).order()[0]]
    story = Story(vehicle, heard, (), (Round(((first.fault, first.position),), still),))
    exact = Belief(car.through(story), story)
    near = narrowed(exact, 256)
    assert near.answer.width <= 1024 < exact.answer.width
    assert np.abs(near.present - exact.present).max() < 0.006
    # That the complaints were there before says that they are there now, which no cause alone does.
    assert near.there == pytest.approx(exact.there, abs=0.006)
    assert near.outside == pytest.approx(exact.outside, abs=0.006)
    assert {"shimmy", "pulls-when-braking"} <= exact.weights.keys() - near.weights.keys()
    # What is felt now stays.
    assert set(exact.car.felt[-1].values()) <= near.weights.keys()
    workshop = Workshop()
    cures = Cures(exact.car, workshop)
    looks = [look_ahead(each, cures, workshop, "ground") for each in (exact, near)]
    assert looks[1].now == pytest.approx(looks[0].now, rel=0.01)
    assert looks[1].proposals[0].check == looks[0].proposals[0].check


def test_that_a_complaint_is_still_there_after_a_cure_is_not_left_out() -> None:
    vehicle = Vehicle(facts=FACTS, km=180_000.0, years=12)
    car = Car(LIBRARY, vehicle, {"shimmy": None, "pulls-when-braking": "left"})
    story = Story(vehicle, (Heard("shimmy"), Heard("pulls-when-braking", "left")))
    exact = Belief(car.after([Belief(car, story).order()[0]]), story)
    near = narrowed(exact, 64)
    assert near.answer.width < exact.answer.width
    # One of the two is, for sure; which, nobody said.
    assert near.there == exact.there == 1.0
    for complaint in car.complaints:
        assert near.complaint(complaint) == pytest.approx(exact.complaint(complaint), abs=0.006)


def test_complaints_and_what_is_observed_again_are_never_left_out() -> None:
    library = compiled(SMALL)[0].library
    car = Car(library, Vehicle(facts={"steering": "rack"}, km=250_000.0), {"wander": None})
    told = Belief(car, Story(car.vehicle, heard(car)))
    assert narrowed(told, 1) is told


def test_a_further_answer_is_taken_in_by_both(belief: Belief) -> None:
    other = narrowed(belief)
    spot = next(
        spot
        for check in belief.car.checks.values()
        for spot in unanswered(belief.car, belief.story, check)
        if not belief.car.library.findings[spot.finding].repeats
    )
    answer = [Seen(spot.finding, spot.position, "no")]
    exact, quick = belief.seeing(answer), other.seeing(answer)
    assert exact.story == quick.story
    assert len(exact.story.seen) == len(belief.story.seen) + 1
    assert np.abs(quick.present - exact.present).max() < 0.03
    assert exact.lean is None
    assert quick.lean is not None


def test_a_factor_on_the_odds_is_a_likelihood_of_the_cause() -> None:
    """Bayes' rule by hand: with nothing observed, odds times factor; mates keep their joint."""
    library = compiled(SMALL)[0].library
    car = Car(library, Vehicle(facts={"steering": "rack"}, km=250_000.0), {"wander": None})
    engine = Engine(car.network)
    plain = engine.ask([{}]).present[0]
    for number in range(len(car.causes)):
        lean = np.ones(len(plain))
        lean[number] = 3.0
        leant = engine.ask([{}], (), lean)
        odds = plain[number] / (1.0 - plain[number]) * 3.0
        assert leant.present[0, number] == pytest.approx(odds / (1.0 + odds), rel=1e-9)
        # P(evidence) counts the factor: 1 - p + 3 p.
        assert np.exp(leant.log_evidence[0]) == pytest.approx(1.0 + 2.0 * plain[number], rel=1e-9)


def test_what_another_finding_observes_once_more_is_not_left_out() -> None:
    """Two looks at one event hang together: without the first the second would say too much."""
    again = """\
      - id: moves-again
        name: it moves as the wheel is rocked
        where: each-front-corner
        repeats: rock-the-steering/end-moves
        hit: 0.9
        false-alarm: 0.05
"""
    moves = Seen("rock-the-steering/end-moves", "front-left")
    vehicle = Vehicle(facts={"steering": "rack"}, km=250_000.0)
    found = []
    for files in (SMALL, {**SMALL, "checks.yaml": SMALL["checks.yaml"] + again}):
        draft, problems = compiled(files)
        assert not problems
        car = Car(draft.library, vehicle, {"wander": None})
        found.append(_by_how_well_explained(Belief(car, Story(vehicle, heard(car), (moves,)))))
    assert found == [(["rock-the-steering/end-moves@front-left"], []), ([], [])]


def test_the_next_place_to_try_is_that_of_the_secant() -> None:
    """Anderson (1965): the first step is the gap itself; for one number the second is the secant's zero.

    By hand for the gap 3 - 2 x: from 0 to 3, where the gap is -3, and from these to 1.5, where it is none.
    """
    steps = _Steps(np.ones(1))
    assert steps.next(np.array([0.0]), np.array([3.0])).tolist() == [3.0]
    assert steps.next(np.array([3.0]), np.array([-3.0])) == pytest.approx([1.5])
