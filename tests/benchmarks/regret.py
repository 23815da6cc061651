"""How much dearer searching is than it need be, on cars small enough to know the least cost exactly.

Run: python -m tests.benchmarks.regret [--models 500] [--seed 1]

Each model is random (tests/small_cars.py, demo data). A way of searching is followed through every answer
and every cure that may fail, so its expected cost is exact, as is the least one there is: its regret is by
how much it is above that. The ways are those of `diagnose.trials`: the program's own, and four plain ones
that look until one cure has half of the blame and then cure by the best course.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from diagnose.trials.searches import OWN, SEARCHES
from diagnose.trials.walk import Search
from tests.small_cars import SmallCar, small_library

__all__ = ["Regret", "main", "regrets"]

#: What each way of searching is called in the table.
NAMES: Mapping[str, str] = {
    OWN: "the program",
    "bits": "entropy a minute",
    "ratio": "likelihood a minute",
    "likely": "likeliest first",
    "fixed": "cheap to dear",
}


@dataclass(frozen=True)
class Regret:
    """One way of searching on some models. costs, least: expected money of it and of the best, by seed."""

    seeds: tuple[int, ...]
    costs: tuple[float, ...]
    least: tuple[float, ...]

    @property
    def parts(self) -> list[float]:
        """For each model the part of the least cost by which it is dearer."""
        return [cost / least - 1.0 for cost, least in zip(self.costs, self.least, strict=True)]

    @property
    def mean(self) -> float:
        """The mean part."""
        return float(np.mean(self.parts))

    @property
    def worst(self) -> float:
        """The greatest part."""
        return max(self.parts)

    def dearest(self, count: int) -> list[tuple[int, float]]:
        """The seeds of the greatest parts, with the part."""
        return sorted(zip(self.seeds, self.parts, strict=True), key=lambda each: -each[1])[:count]


def regrets(seeds: Iterable[int], searches: Mapping[str, Search]) -> dict[str, Regret]:
    """Each of these ways of searching, on the models of these seeds."""
    numbers = tuple(seeds)
    cars = [SmallCar(small_library(seed)) for seed in numbers]
    least = tuple(car.least() for car in cars)
    return {
        name: Regret(numbers, tuple(car.expected(search) for car in cars), least)
        for name, search in searches.items()
    }


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--models", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1, help="of the first model; the others follow it")
    chosen = parser.parse_args()
    seeds = range(chosen.seed, chosen.seed + chosen.models)
    found = regrets(seeds, SEARCHES)
    least = float(np.mean(found[OWN].least))
    print(f"{chosen.models} models, seeds {seeds[0]} to {seeds[-1]}; least mean cost {least:.1f}")
    print(f"{'':22s}{'mean cost':>10s}{'mean regret':>13s}{'95 % below':>12s}{'worst':>9s}  of seed")
    for name, regret in found.items():
        high = float(np.percentile(regret.parts, 95))
        seed, worst = regret.dearest(1)[0]
        print(
            f"{NAMES[name]:22s}{np.mean(regret.costs):10.1f}{regret.mean:12.2%} {high:11.2%} {worst:8.2%}"
            f"  {seed}"
        )
    dear = [f"{seed} ({part:.1%})" for seed, part in found[OWN].dearest(5)]
    print(f"the program's five dearest: {', '.join(dear)}")


if __name__ == "__main__":
    main()
