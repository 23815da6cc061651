"""How long the next proposal takes, over whole walks on the shipped library, and what narrowing costs.

python -m tests.benchmarks.walks [--cars 1] [--seed 1] [COMPLAINT ...]: for each complaint so many simulated
cars are walked to their end as the program proposes; every time from an answer to the next proposal counts,
on the clock and of the processor, which other work on the machine lengthens less.
Beside it, for beliefs so wide that they are narrowed, the same look ahead on the exact belief.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Sequence

import numpy as np

from diagnose.belief.belief import Belief
from diagnose.belief.narrow import WIDE, narrowed
from diagnose.choice.decide import decide
from diagnose.choice.lookahead import look_ahead
from diagnose.library.shelf import load
from diagnose.model.library import Library
from diagnose.model.story import Workshop
from diagnose.trials.run import Batch, carry_out
from diagnose.trials.searches import OWN
from diagnose.trials.walk import State, Step

#: Wider beliefs take minutes in the exact way.
WIDEST = 2**14

#: Seconds that are aimed at.
AIM = 0.25

#: Wide beliefs looked at in both ways.
COMPARED = 30


def timed(
    library: Library, complaint: str, cars: int, seed: int
) -> tuple[list[tuple[float, float]], list[State]]:
    """Seconds on the clock and of the processor of each decision on these cars, and the states whose belief
    was wide."""
    seconds: list[tuple[float, float]] = []
    wide: list[State] = []

    def own(state: State) -> Step:
        start, worked = time.perf_counter(), time.process_time()
        belief = Belief(state.car, state.story)
        made = decide(belief, state.cures, state.workshop, state.set_up, state.done)
        seconds.append((time.perf_counter() - start, time.process_time() - worked))
        if WIDE < belief.answer.width <= WIDEST:
            wide.append(state)
        return Step(check=made.check.check) if made.check is not None else Step(cure=made.cure)

    carry_out(library, Batch(complaint, 0, cars, seed, (OWN,), 0.0), Workshop(), {OWN: own})
    return seconds, wide


def compare(states: Sequence[State]) -> None:
    """The look ahead from narrowed and from exact beliefs."""
    gaps, losses, same, quick, slow = [], [], 0, [], []
    for state in states:
        exact, start = Belief(state.car, state.story), time.perf_counter()
        near = narrowed(exact)
        one = look_ahead(near, state.cures, state.workshop, state.set_up, state.done)
        middle = time.perf_counter()
        other = look_ahead(exact, state.cures, state.workshop, state.set_up, state.done)
        slow.append(time.perf_counter() - middle)
        quick.append(middle - start)
        gaps.append(float(np.abs(near.present - exact.present).max()))
        costs = {each.check: each.cost for each in other.proposals}
        if one.proposals and one.proposals[0].check in costs:
            best, chosen = other.proposals[0].check, one.proposals[0].check
            same += best == chosen
            losses.append((costs[chosen] - costs[best]) / other.now)
    if losses:
        print(
            f"{len(states)} wide beliefs: largest gap of a fault's probability {statistics.median(gaps):.4f} "
            f"(median), {max(gaps):.4f} (worst);\n"
            f"  first check the same in {same}, cost of the one chosen above the other's, in parts of what "
            f"is still to come: {statistics.mean(losses):.2%} (mean), {max(losses):.2%} (worst);\n"
            f"  narrowed and looked ahead {statistics.median(quick):.2f} s (median), exact "
            f"{statistics.median(slow):.2f} s, worst {max(slow):.2f} s"
        )


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("complaints", nargs="*")
    parser.add_argument("--cars", type=int, default=1)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    library = load()
    seconds: list[tuple[float, float]] = []
    wide: list[State] = []
    slowest: tuple[float, str] = (0.0, "")
    complaints = options.complaints or list(library.complaints)
    for complaint in complaints:
        some, states = timed(library, complaint, options.cars, options.seed)
        seconds += some
        wide += states
        slowest = max(slowest, (max(worked for _, worked in some), complaint))
    print(
        f"{len(complaints)} complaints, {options.cars} cars each, seed {options.seed}: {len(seconds)} "
        f"decisions; from an answer to the next proposal"
    )
    for name, each in zip(("on the clock", "of the processor"), zip(*seconds, strict=True), strict=True):
        at = np.quantile(each, [0.5, 0.95])
        print(
            f"  {name}: median {at[0]:.3f} s, 95th percentile {at[1]:.3f} s, worst {max(each):.2f} s, "
            f"{np.mean(np.array(each) <= AIM):.1%} within {AIM:.2f} s"
        )
    print(f"  the worst of the processor in {slowest[1]}")
    random = np.random.default_rng(options.seed)
    chosen = random.permutation(len(wide))[:COMPARED]
    compare([wide[number] for number in chosen])


if __name__ == "__main__":
    main()
