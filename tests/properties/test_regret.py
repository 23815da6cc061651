"""The program searches nearly as cheaply as can be, on cars small enough to know the least cost exactly."""

from __future__ import annotations

import math

import pytest

from diagnose.belief.belief import Belief
from diagnose.model.story import Heard, Seen, Story
from diagnose.trials.searches import OWN, SEARCHES
from diagnose.trials.walk import State, Step
from tests.benchmarks.regret import regrets
from tests.small_cars import VEHICLE, SmallCar, small_library

#: Part of the least cost by which the program may be dearer on the mean.
MEAN = 0.01

#: The same for the worst of them.
WORST = 0.05


@pytest.mark.parametrize("models", [8, pytest.param(500, marks=pytest.mark.long)])
def test_the_program_is_hardly_dearer_than_the_best_search(models: int) -> None:
    found = regrets(range(1, models + 1), {OWN: SEARCHES[OWN]})[OWN]
    assert found.mean <= MEAN
    assert found.worst <= WORST, found.dearest(10)


def test_no_way_of_searching_is_cheaper_than_the_least() -> None:
    found = regrets(range(1001, 1006), SEARCHES)
    for name, regret in found.items():
        assert min(regret.parts) > -1e-9, name
    # Were all of them equal, the least would show little.
    assert max(regret.worst for regret in found.values()) > 0.02


# The reckoning itself -----------------------------------------------------------------------------------

CAR = SmallCar(small_library(7))


def believed(*seen: Seen) -> Belief:
    return Belief(CAR.car, Story(VEHICLE, (Heard("noise"),), seen))


def hand_on(state: State) -> Step:
    return Step()


def cure_once(state: State) -> Step:
    return Step() if state.car.cured else Step(cure=0)


def look_once(state: State) -> Step:
    return Step() if state.done else Step(check=CAR.checks[0].id)


def test_handing_on_at_once_costs_ten_hours_if_the_complaint_is_there() -> None:
    assert CAR.expected(hand_on) == pytest.approx(1000.0 * believed().there)


def test_a_cure_costs_a_drive_and_the_part_if_it_was_sound() -> None:
    belief, cure = believed(), CAR.cures.all[0]
    sound = math.prod(1.0 - belief.present[n] for n in cure.causes)
    assert len(cure.causes) == 1  # else its causes had to be independent
    left = 1000.0 * (1.0 - belief.cured(cure.causes))
    assert CAR.expected(cure_once) == pytest.approx(cure.money * sound + 50.0 + left)


def test_a_check_costs_its_minutes_and_reading_it() -> None:
    check = CAR.checks[0]
    minutes = {"ground": 2.0, "lift": 6.0, "wheels-off": 14.0}[check.set_up] + check.minutes + 1.0
    looked = 1000.0 * believed().there + 100.0 * minutes / 60.0
    assert CAR.expected(look_once) == pytest.approx(looked)


def test_looking_and_then_curing_is_reckoned_as_the_belief_has_it() -> None:
    """The cure only where the check has shown something; else the job is handed on."""

    def search(state: State) -> Step:
        if not state.done:
            return Step(check=CAR.checks[0].id)
        shown = state.story.seen[0].answer == "yes"
        return Step(cure=0) if shown and not state.car.cured else Step()

    cure, spent = CAR.cures.all[0], CAR.expected(look_once) - CAR.expected(hand_on)
    for answer in ("yes", "no"):
        belief = believed(Seen(CAR.checks[0].findings[0], None, answer))
        p = math.exp(float(belief.answer.log_evidence[0] - believed().answer.log_evidence[0]))
        after = 1000.0 * belief.there
        if answer == "yes":
            sound = 1.0 - float(belief.present[cure.causes[0]])
            after = cure.money * sound + 50.0 + 1000.0 * (1.0 - belief.cured(cure.causes))
        spent += p * after
    assert CAR.expected(search) == pytest.approx(spent)
