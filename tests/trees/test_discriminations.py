"""What separates causes that look alike: with the telling finding A stands before B, with its opposite B
before A, and the odds between them move by about what the trade says.

Common practice, one row each in discriminations.yaml.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from diagnose.belief.belief import Belief, Car
from diagnose.model.story import Heard, Seen, Story
from diagnose.model.vehicle import Vehicle
from tests.shipped import LIBRARY

DATA: dict[str, list[dict[str, Any]]] = yaml.load(
    Path(__file__).with_name("discriminations.yaml").read_text("utf-8"), Loader=yaml.BaseLoader
)
ROWS = [pytest.param(row, id=f"{row['a']} or {row['b']}") for rows in DATA.values() for row in rows]

#: The odds of the trade are good to a factor of three, and they speak of one culprit: where several may
#: be at it together, a finding that others can raise as well shares its weight out among them.
GOOD_TO = 5.0


def belief(row: dict[str, Any], told: dict[str, str]) -> Belief:
    """What is believed of the row's car with these answers."""
    car = car_of(row["complaint"], row.get("side"), tuple(row.get("car", {}).items()))
    seen = []
    for name, answer in told.items():
        finding, _, position = name.partition("@")
        assert finding in LIBRARY.findings, finding
        answers = {"yes", "no", LIBRARY.findings[finding].none, *LIBRARY.findings[finding].levels}
        assert answer in answers, f"{finding}: {answer} is none of {sorted(answers)}"
        seen.append(Seen(finding, position or None, answer))
    return Belief(car, Story(car.vehicle, (Heard(row["complaint"], row.get("side")),), tuple(seen)))


@cache
def car_of(complaint: str, side: str | None, facts: tuple[tuple[str, str], ...]) -> Car:
    """The car of a row, and of every other row about the same."""
    return Car(LIBRARY, Vehicle(facts=dict(facts)), {complaint: side})


def odds(row: dict[str, Any], told: dict[str, str]) -> float:
    """Odds that A is the culprit over the odds that B is; without a place, at any of its places."""
    found = belief(row, told)
    each = []
    for which in (row["a"], row["b"]):
        fault, _, position = which.partition("@")
        numbers = found.car.network.instances(fault, position or None)
        assert numbers, f"{which} is not on this car"
        chance = 1.0 - math.prod(1.0 - float(found.to_blame[n]) for n in numbers)
        each.append(chance / (1.0 - chance))
    return each[0] / each[1]


@pytest.mark.parametrize("row", ROWS)
def test_the_telling_finding_puts_a_before_b_and_its_opposite_b_before_a(row: dict[str, Any]) -> None:
    assert odds(row, row["telling"]) > 1.0
    assert odds(row, row["opposite"]) < 1.0


@pytest.mark.parametrize("row", [r for r in ROWS if "odds" in r.values[0]])
def test_the_odds_move_by_about_what_the_trade_says(row: dict[str, Any]) -> None:
    """From before to after the telling finding; more is no fault where several signs come together."""
    assert odds(row, row["telling"]) / odds(row, {}) >= float(row["odds"]) / GOOD_TO


def test_all_that_the_trade_tells_apart_is_there() -> None:
    assert (len(DATA["front"]), len(DATA["rear"])) == (32, 27)
