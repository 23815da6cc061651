"""What a plan costs until the car is cured, beside plain orders of work, on invented cars with worn parts.

Run: python -m tests.benchmarks.plans [--cars 400] [--seed 1] [--worth MONEY] [--most 20000000] [FOLDER]

For every case file of the folder (tests/plans, demo cars) the plan is made, and three plain orders of the
same works: the most likely first, the cheapest first, each by itself with a drive after it, and everything
likely enough at once; what safety asks for comes first in all of them. Each is carried out until no complaint
is left, or to its end; the orders one by one end where it pays best by the belief. The cost is what is paid,
the drives, and what it is worth to be rid of the complaints that are left, less what the work saves besides:
parts that would be due later, and danger. It is given twice: as the belief has it, exactly, and as it came
out on cars drawn from the trees that would show what was seen.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from diagnose.belief.belief import Belief, Car
from diagnose.belief.evidence import observe
from diagnose.belief.rounds import reach
from diagnose.choice.cost import DRIVE_MINUTES, Cures
from diagnose.job.case import read_case
from diagnose.library.shelf import load
from diagnose.model.library import Library
from diagnose.model.story import Workshop
from diagnose.plan.chosen import Stage
from diagnose.plan.planner import Planner
from diagnose.plan.units import Unit
from diagnose.plan.wishes import Wishes
from diagnose.trials.cars import Drawn, draw

__all__ = ["WAYS", "Result", "compare", "main"]

#: Works less likely behind the complaint than this are in no plain order.
LIKELY = 0.03

#: Works of a plain order that goes one by one, at most.
ONE_BY_ONE = 8

WAYS = ("plan", "most likely first", "cheapest first", "all at once")


@dataclass(frozen=True)
class Result:
    """One way on one car. exact: expected cost by the belief. simulated: mean, with the half width of its
    95 % interval. gone: P(no complaint is left in the end), exact. cash: paid if every stage is needed."""

    way: str
    stages: int
    exact: float
    simulated: float
    half: float
    gone: float
    cash: float


def planner_of(library: Library, file: Path, worth: float | None = None) -> Planner:
    """The planner of a case file. worth: of being rid of one complaint, in money; None: as usual."""
    case = read_case(library, file.read_bytes(), str(file))
    car = Car(library, case.story.vehicle, case.story.complaints)
    workshop = case.workshop or Workshop()
    return Planner(Belief(car, case.story), Cures(car, workshop), Wishes(worth=worth), workshop)


def orders(planner: Planner) -> dict[str, tuple[Stage, ...]]:
    """Every way, as stages."""
    likely = [unit for unit in planner.units() if unit.blame >= LIKELY]

    def apart(units: Sequence[Unit]) -> list[Unit]:
        """Without work on what an earlier one has ended."""
        chosen: list[Unit] = []
        for unit in units:
            if not any(unit.parts & each.parts for each in chosen):
                chosen.append(unit)
        return chosen

    by_blame = apart(sorted(likely, key=lambda unit: (not unit.safety, -unit.blame)))
    by_cost = apart(sorted(likely, key=lambda unit: (not unit.safety, unit.alone)))
    return {
        "plan": planner.plan().stages,
        "most likely first": _stopped(planner, [[unit] for unit in by_blame[:ONE_BY_ONE]]),
        "cheapest first": _stopped(planner, [[unit] for unit in by_cost[:ONE_BY_ONE]]),
        "all at once": planner.stages_of([by_blame] if by_blame else []),
    }


def _stopped(planner: Planner, chosen: Sequence[Sequence[Unit]]) -> tuple[Stage, ...]:
    """The order as far as it pays by the belief: no shop goes on for ever."""
    stages = planner.stages_of(chosen)
    first = sum(bool(unit.safety) for stage in stages for unit in stage.units)
    ends = [stages[:count] for count in range(first, len(stages) + 1)]
    return min(ends, key=lambda some: exact_cost(planner, some))


def stage_cost(planner: Planner, stage: Stage) -> float:
    """What carrying out a stage costs, less what its work saves besides."""
    drive = planner.workshop.labour(DRIVE_MINUTES)
    return stage.cash + drive - sum(unit.value for unit in stage.units)


def exact_cost(planner: Planner, stages: Sequence[Stage]) -> float:
    """The expected cost of these stages by the belief."""
    cost = sum(stage.needed * stage_cost(planner, stage) for stage in stages)
    worths = planner.worths
    if not stages:
        return sum(worth * planner.belief.complaint(each) for each, worth in worths.items())
    return cost + sum(worth * (1.0 - stages[-1].each_gone[each]) for each, worth in worths.items())


def cars_of(planner: Planner, count: int, seed: int, most: int) -> list[Drawn]:
    """Cars with these complaints and causes as the belief has them: drawn from the trees, and kept as often
    as they would show what was seen. One whose driver is mistaken is left out."""
    belief = planner.belief
    seen = observe(belief.car.library, belief.car.network, (), belief.story.seen)
    return list(draw(belief.car, count, np.random.default_rng(seed), seen, findings=False, most=most))


def simulated(
    planner: Planner, stages: Sequence[Stage], cars: Sequence[Drawn], seed: int
) -> tuple[float, float]:
    """Mean cost of carrying these stages out on the cars, and the half width of its 95 % interval."""
    worths = planner.worths
    nodes = planner.belief.car.plain.network.nodes
    costs = np.zeros(len(cars))
    for number, drawn in enumerate(cars):
        random = np.random.default_rng([seed, number])
        done: frozenset[int] = frozenset()
        raised: set[str] = set()
        left = list(worths)
        for stage in stages:
            costs[number] += stage_cost(planner, stage)
            done |= frozenset(n for unit in stage.units for n in unit.ends)
            for unit in stage.units:
                raised |= _raised(planner, unit, random)
            left = [each for each in worths if each in raised or drawn.state(each, done) == nodes[each].top]
            if not left:
                break
        else:
            if not stages:
                left = [each for each in worths if drawn.state(each) == nodes[each].top]
        costs[number] += sum(worths[each] for each in left)
    return float(costs.mean()), 1.96 * float(costs.std(ddof=1)) / math.sqrt(len(costs))


def _raised(planner: Planner, unit: Unit, random: np.random.Generator) -> set[str]:
    """Complaints that a bad new part raises, as the belief reckons it: each fault anew, felt as before."""
    network = planner.belief.car.plain.network
    bad = [n for n in sorted(unit.parts) if random.random() < unit.offer.badness]
    return {each for n in bad for each in planner.worths if random.random() < reach(network, n, each)}


def compare(
    library: Library, file: Path, cars: int, seed: int, most: int, worth: float | None = None
) -> tuple[list[Result], int]:
    """All ways on one car, and the number of cars that were drawn for it."""
    planner = planner_of(library, file, worth)
    drawn = cars_of(planner, cars, seed, most)
    found = []
    for way, stages in orders(planner).items():
        mean, half = simulated(planner, stages, drawn, seed) if len(drawn) > 1 else (math.nan, math.nan)
        gone = stages[-1].gone if stages else 1.0 - planner.belief.there
        cash = sum(each.cash for each in stages)
        found.append(Result(way, len(stages), exact_cost(planner, stages), mean, half, gone, cash))
    return found, len(drawn)


def main() -> None:
    """Print the table of docs/plan.md."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", nargs="?", type=Path, default=Path(__file__).parents[1] / "plans")
    parser.add_argument("--cars", type=int, default=400)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--worth", type=float, help="of being rid of one complaint")
    parser.add_argument("--most", type=int, default=20_000_000)
    options = parser.parse_args()
    library = load(None)
    print("| car | way | stages | paid if all needed | gone, of 100 | expected cost | simulated |")
    print("|---|---|---|---|---|---|---|")
    for file in sorted(options.folder.glob("*.yaml")):
        found, drawn = compare(library, file, options.cars, options.seed, options.most, options.worth)
        for each in found:
            name = f"{file.stem} ({drawn} cars)" if each.way == "plan" else ""
            print(
                f"| {name} | {each.way} | {each.stages} | {each.cash:.0f} | {100 * each.gone:.0f} "
                f"| {each.exact:.0f} | {each.simulated:.0f} \u00b1 {each.half:.0f} |",
                flush=True,
            )


if __name__ == "__main__":
    main()
