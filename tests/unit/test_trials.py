"""Simulated trials: the cars drawn are those of the model, walks end rightly, seeds repeat, figures move."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from dataclasses import replace
from functools import cache, partial
from pathlib import Path

import numpy as np
import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.choice.cost import DRIVE_MINUTES, OVERHEAD, UNSOLVED_HOURS
from diagnose.choice.outcomes import Spot
from diagnose.cli import run as command
from diagnose.library import shelf
from diagnose.model.library import Library
from diagnose.model.story import Heard, Seen, Story, Workshop
from diagnose.model.vehicle import Vehicle
from diagnose.trials.cars import Drawn, draw, heard
from diagnose.trials.noise import perturbed
from diagnose.trials.run import NOISY, Batch, batches, carry_out, run
from diagnose.trials.searches import OWN, SEARCHES
from diagnose.trials.stats import summary
from diagnose.trials.walk import Ended, Paths, Searched, State, Step, walk
from tests.small_trees import SMALL, compiled

LIBRARY: Library = compiled(SMALL)[0].library
VEHICLE = Vehicle(facts={"steering": "rack"}, km=250_000.0)
CAR = Car(LIBRARY, VEHICLE, {"wander": None})


@cache
def some(count: int = 4000, seed: int = 1) -> tuple[Drawn, ...]:
    """The same cars for every test: a car stays as it was drawn."""
    return tuple(draw(CAR, count, np.random.default_rng(seed)))


# The cars drawn -----------------------------------------------------------------------------------------


@pytest.mark.slow
def test_cars_drawn_have_what_the_exact_posterior_says() -> None:
    """Given that the complaint is told and there: frequencies within four standard errors."""
    cars = some()
    belief = Belief(CAR, Story(VEHICLE, heard(CAR)))
    # The draw takes cars that really have it; the belief must be told so as well.
    sure = CAR.engine.ask([{**belief.weights, "wander": (0.0, 1.0)}])
    for number, cause in enumerate(CAR.causes):
        expected = float(sure.present[0, number])
        found = sum(number in each.present for each in cars) / len(cars)
        error = math.sqrt(expected * (1.0 - expected) / len(cars))
        assert abs(found - expected) <= 4.0 * error + 1e-9, cause.id


@pytest.mark.slow
def test_answers_come_as_often_as_the_model_says() -> None:
    cars = some()
    spot = Spot("rock-the-steering/end-moves", "front-left")
    told = dict(Belief(CAR, Story(VEHICLE, heard(CAR))).weights)
    told["wander"] = (0.0, 1.0)
    base = float(CAR.engine.ask([told]).log_evidence[0])
    seen = CAR.engine.ask([{**told, "rock-the-steering/end-moves@front-left": (0.0, 1.0)}])
    expected = math.exp(float(seen.log_evidence[0]) - base)
    found = sum(each.answer(spot).answer == "yes" for each in cars) / len(cars)
    assert abs(found - expected) <= 4.0 * math.sqrt(expected * (1.0 - expected) / len(cars))


def test_a_car_stays_as_it_was_drawn() -> None:
    (car,) = some(1)
    spot = Spot("rock-the-steering/wander-felt", None)
    assert len({car.answer(spot) for _ in range(20)}) == 1
    assert car.complaint()


def test_with_everything_cured_only_what_is_not_listed_is_left() -> None:
    """As often as the exact chance of a cause outside the trees, given that the complaint is there."""
    cars = some()
    everything = frozenset(range(len(CAR.causes)))
    belief = Belief(CAR, Story(VEHICLE, heard(CAR)))
    expected = belief.outside / belief.complaint("wander")
    found = sum(each.complaint(everything) for each in cars) / len(cars)
    assert abs(found - expected) <= 4.0 * math.sqrt(expected * (1.0 - expected) / len(cars)) + 0.002


def test_a_cured_cause_no_longer_shows() -> None:
    """Before it the rod end moves in 85 of 100 and the false alarms, after it in the 4 of false alarms."""
    number = CAR.network.index["rod-end-play-front-left"]
    cars = [each for each in some() if number in each.present]
    spot = Spot("rock-the-steering/end-moves", "front-left")
    before = sum(each.answer(spot).answer == "yes" for each in cars) / len(cars)
    after = sum(each.answer(spot, frozenset([number])).answer == "yes" for each in cars) / len(cars)
    assert before == pytest.approx(1.0 - 0.96 * 0.15, abs=0.05)
    assert after == pytest.approx(0.04, abs=0.04)


# One walk -----------------------------------------------------------------------------------------------


def script(*steps: Step) -> object:
    """A search that does just these steps, then hands on."""
    left = list(steps)

    def search(state: State) -> Step:
        return left.pop(0) if left else Step()

    return search


def cure_of(cause: str) -> int:
    paths = Paths(CAR, heard(CAR), Workshop(), SEARCHES[OWN])
    return int(paths.cures.of_cause[CAR.network.index[cause]])


def walked(drawn: Drawn, *steps: Step) -> Ended:
    return walk(drawn, Paths(CAR, heard(CAR), Workshop(), script(*steps)))  # type: ignore[arg-type]


def test_the_costs_of_a_walk_are_those_of_its_steps() -> None:
    """A look on the ground (2 minutes there, 5 its own), a cure that helps, one drive to see."""
    only = CAR.network.index["rod-end-play-front-left"]
    drawn = next(each for each in some() if each.present == {only} and not each.complaint(frozenset([only])))
    ended = walked(drawn, Step(check="rock-the-steering"), Step(cure=cure_of("rod-end-play-front-left")))
    assert (ended.checks, ended.tried, ended.wrong, ended.first, ended.cured) == (1, 1, 0, True, True)
    assert ended.minutes == pytest.approx(2 + 5 + OVERHEAD + DRIVE_MINUTES)
    assert ended.money == pytest.approx(100.0 * ended.minutes / 60.0)


def test_a_sound_part_renewed_is_paid_and_counted_and_handing_on_has_its_price() -> None:
    only = CAR.network.index["tyres-soft-front"]
    drawn = next(each for each in some() if each.present == {only})
    ended = walked(drawn, Step(cure=cure_of("rod-end-play-front-left")))
    assert (ended.wrong, ended.tried, ended.first, ended.cured) == (1, 1, False, False)
    parts = 100.0 * (0.7 + 40 / 60) + 35.0
    assert ended.money == pytest.approx(parts + 100.0 * (UNSOLVED_HOURS + DRIVE_MINUTES / 60.0))


def test_what_was_seen_before_a_cure_stays_by_the_event_that_it_observes() -> None:
    """A finding that repeats another one has no event of its own that could be kept."""
    paths = Paths(CAR, heard(CAR), Workshop(), script())  # type: ignore[arg-type]
    at = Searched(some()[0], paths.cures, Workshop(), (Seen("rock-the-steering/wander-felt"),))
    assert at.put_right(paths.cures.all[0]).before == {"wander"}


@pytest.mark.slow
def test_every_way_of_searching_ends_and_cures_most_cars() -> None:
    cars = some(40, seed=3)
    for name, search in SEARCHES.items():
        paths = Paths(CAR, heard(CAR), Workshop(), search)
        ended = [walk(each, paths) for each in cars]
        assert sum(each.cured for each in ended) >= 20, name
        assert all(each.minutes > 0.0 for each in ended)


# Runs ---------------------------------------------------------------------------------------------------


def test_cars_are_shared_out_evenly() -> None:
    work = batches(["a", "b", "c"], 100, 1, [OWN], 0.0)
    counts = {name: sum(each.cars for each in work if each.complaint == name) for name in "abc"}
    assert counts == {"a": 34, "b": 33, "c": 33}
    assert all(each.cars > 0 for each in batches(["a", "b"], 1, 1, [OWN], 0.0))


@pytest.mark.slow
def test_the_same_seed_gives_the_same_results_on_one_core_or_two() -> None:
    work = [Batch("wander", number, 5, 7, (OWN, "fixed"), 0.4) for number in (0, 1)]
    small = partial(_small)
    alone = summary(list(run(small, work, Workshop(), 1)), 7, 0.4)
    both = summary(list(run(small, work, Workshop(), 2)), 7, 0.4)
    assert alone == both
    assert set(alone.whole) == {OWN, "fixed", NOISY}
    other = summary([carry_out(LIBRARY, replace(each, seed=8), Workshop()) for each in work], 8, 0.4)
    assert other.whole[OWN].cost != alone.whole[OWN].cost


def _small() -> Library:
    return compiled(SMALL)[0].library


@pytest.mark.slow
def test_a_killed_run_leaves_no_process_behind() -> None:
    words = [sys.executable, "-m", "tests.working"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True, cwd=Path(__file__).parents[2]) as running:
        assert running.stdout is not None
        assert [running.stdout.readline() for _ in range(2)] == ["up\n"] * 2
        running.kill()
        # The pipe has an end once nobody is left to write to it: each worker holds it open.
        running.communicate(timeout=60)


def test_intervals_and_savings() -> None:
    """Four cars by hand: costs 100 200 300 400 against 200 300 400 500."""
    done = carry_out(LIBRARY, Batch("wander", 0, 4, 1, (OWN, "fixed"), 0.0), Workshop())
    base = done.ended[OWN][0]
    mine = tuple(replace(base, money=float(each)) for each in (100, 200, 300, 400))
    theirs = tuple(replace(base, money=float(each)) for each in (200, 300, 400, 500))
    found = summary([replace(done, ended={OWN: mine, "fixed": theirs})], 1, 0.0).whole
    assert found[OWN].cost.value == pytest.approx(250.0)
    # Standard deviation 129.0994 over the root of 4, times 1.96.
    assert found[OWN].cost.within == pytest.approx(126.517, abs=1e-3)
    assert found["fixed"].saving.part == pytest.approx(1.0 - 250.0 / 350.0)
    # own - 0.7142857 other: -42.857, -14.286, 14.286, 42.857; deviation 36.886, its error 18.443.
    assert found["fixed"].saving.within == pytest.approx(1.96 * 18.4428 / 350.0, abs=1e-4)


# Figures off --------------------------------------------------------------------------------------------


def test_no_error_leaves_the_library_as_it_is() -> None:
    same = perturbed(LIBRARY, 0.0, np.random.default_rng(1))
    for name, fault in LIBRARY.faults.items():
        assert same.faults[name].prior(200_000.0, 9.0) == pytest.approx(fault.prior(200_000.0, 9.0))
    for name, finding in LIBRARY.findings.items():
        assert same.findings[name].false_alarm == pytest.approx(finding.false_alarm)


def test_errors_have_the_spread_asked_for() -> None:
    random = np.random.default_rng(1)
    p = LIBRARY.faults["tyres-soft"].chance
    assert p is not None
    moved = []
    for _ in range(400):
        q = perturbed(LIBRARY, 0.4, random).faults["tyres-soft"].chance
        assert q is not None and 0.0 < q < 1.0
        moved.append(math.log(q / (1 - q)) - math.log(p / (1 - p)))
    assert np.mean(moved) == pytest.approx(0.0, abs=4 * 0.4 / 20)
    assert np.std(moved) == pytest.approx(0.4, rel=0.15)


def test_a_perturbed_library_is_still_one() -> None:
    car = Car(perturbed(LIBRARY, 1.0, np.random.default_rng(2)), VEHICLE, {"wander": None})
    belief = Belief(car, Story(VEHICLE, (Heard("wander"),)))
    assert np.all((belief.present > 0.0) & (belief.present < 1.0))


# The command --------------------------------------------------------------------------------------------


def test_the_command_prints_tables_and_json(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, text in SMALL.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    monkeypatch.setattr(shelf, "shipped", lambda: tmp_path)
    arguments = ["trials", "wander", "--cars", "2", "--ways", "own,fixed", "--workers", "1"]
    assert command(arguments) == 0
    printed = capsys.readouterr().out
    assert "the program's own" in printed
    assert "cheap to dear" in printed
    assert command([*arguments, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["format"] == "handling-diagnose/trials/1"
    assert found["cars"] == 2
    assert set(found["complaints"]["wander"]) == {"own", "fixed"}


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["centre-wornn"], "did you mean 'centre-worn'?"),
        (["--cars", "none"], "is not a number of cars"),
        (["--ways", "lucky"], "is not a way of searching; these are: own, bits, ratio, likely, fixed"),
        (["--noise", "-1"], "is not a spread of log odds"),
        (["--seed", "x"], "is not a seed"),
    ],
)
def test_a_mistake_is_told(arguments: list[str], told: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert command(["trials", *arguments]) == 2
    assert told in capsys.readouterr().err
