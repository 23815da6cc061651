"""How near learning from simulated closed jobs comes to the true figures, and what it does to calibration.

Run: python -m tests.benchmarks.learning [--jobs 10000] [--seed 1] [--spread 0.5]

The library is small (tests/workshop_trees.py, demo data: 9 faults at 14 places, 9 findings, 2 complaints, 40
figures to learn). The truth is the same library with every figure off by a normal error in log odds, life
in log hazard; jobs are drawn from the truth, learned from with the library as it was, and scored on jobs of
their own whose causes are entered without error. Every tenth cause stays hidden.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.learn.expect import LABEL_ERROR
from diagnose.learn.fit import Fit, fit
from diagnose.learn.history import Job
from diagnose.learn.predict import stated
from diagnose.learn.rows import Figure, figures_of
from diagnose.learn.scores import Scores, scores
from diagnose.learn.simulate import simulate
from diagnose.model.library import Library
from diagnose.trials.noise import perturbed
from tests.workshop_trees import workshop

__all__ = ["Trial", "held_out", "main", "moved", "trial"]

#: Jobs that only score.
SCORED = 2000

#: P(a label is wrong) that stands for "labels are facts" in the last line.
AS_FACTS = 1e-9


def moved(shipped: Library, true: Library, figures: Sequence[Figure]) -> np.ndarray:
    """How far the true figures are from the shipped ones: in log odds, of a life in log hazard."""
    truth = figures_of(true)
    found = []
    for each in figures:
        if each.key.kind != "life":
            found.append(_log_odds(truth[each.key].value) - _log_odds(each.value))
            continue
        one, other = shipped.faults[each.key.row].life, true.faults[each.key.row].life
        assert one is not None
        assert other is not None
        ratio = other.km / one.km if one.km and other.km else (other.years or 1.0) / (one.years or 1.0)
        found.append(-one.shape * math.log(ratio))
    return np.array(found)


def _log_odds(p: float) -> float:
    return math.log(p / (1.0 - p))


def held_out(true: Library, count: int, seed: int) -> list[Job]:
    """Jobs to score by, each with its cause as it was in truth."""
    drawn = simulate(true, count, seed, course=tuple(true.checks), label_error=0.0, hidden=0.0)
    return [each.job for each in drawn]


@dataclass(frozen=True)
class Trial:
    """One history learned from. error: root mean square of learned against true figures in log odds.

    before: the same of the shipped ones. covered: the share of true figures within their 95 % interval.
    """

    fit: Fit
    before: float
    error: float
    covered: float
    scores: Scores
    seconds: float


def trial(
    library: Library, true: Library, jobs: Sequence[Job], scored: Sequence[Job], error: float = LABEL_ERROR
) -> Trial:
    """Learn from some jobs and score on others."""
    start = time.perf_counter()
    found = fit(library, jobs, error)
    seconds = time.perf_counter() - start
    truth = moved(library, true, found.figures)
    off = found.move - truth
    return Trial(
        found,
        float(np.sqrt(np.mean(truth**2))),
        float(np.sqrt(np.mean(off**2))),
        float(np.mean(np.abs(off) <= 1.96 * found.sd)),
        scores(*stated(found.library(library), scored)),
        seconds,
    )


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the trials."""
    parser = argparse.ArgumentParser(description="Learning from simulated closed jobs.")
    parser.add_argument("--jobs", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--spread", type=float, default=0.5)
    options = parser.parse_args(arguments)
    library = workshop()
    true = perturbed(library, options.spread, np.random.default_rng(options.seed))
    scored = held_out(true, SCORED, options.seed + 1000)
    shipped, best = (scores(*stated(each, scored)) for each in (library, true))
    print(f"{'history':38s} error  in 95 %  Brier    log      calibr.  rounds  seconds")
    print(_line("as shipped", None, shipped))
    last: Trial | None = None
    for wrong in (0.0, 0.05):
        drawn = simulate(
            true, options.jobs, options.seed, course=tuple(true.checks), label_error=wrong, hidden=0.1
        )
        jobs = [each.job for each in drawn]
        for count in (n for n in (100, 1000, 10_000, 100_000) if n <= options.jobs):
            last = trial(library, true, jobs[:count], scored)
            print(_line(f"{count} jobs, {wrong:.0%} of labels wrong", last, last.scores), flush=True)
        if wrong:
            count = min(1000, options.jobs)
            hard = trial(library, true, jobs[:count], scored, AS_FACTS)
            print(_line(f"{count} jobs, {wrong:.0%} wrong, taken as facts", hard, hard.scores), flush=True)
    print(_line("the true figures", None, best))
    if last is not None:
        print(f"\nfigures off at first: {last.before:.3f} (root mean square, log odds)")
        print(f"\nreliability on {SCORED} jobs, shipped, and learned from {last.fit.jobs} jobs (5% wrong)")
        _reliability(shipped)
        print()
        _reliability(last.scores)
        print("\nlearned, of kind, off by (root mean square, log odds): at first, after")
        truth = moved(library, true, last.fit.figures)
        kinds = [each.key.kind for each in last.fit.figures]
        for kind in dict.fromkeys(kinds):
            here = np.array([each == kind for each in kinds])
            first = float(np.sqrt(np.mean(truth[here] ** 2)))
            after = float(np.sqrt(np.mean((last.fit.move - truth)[here] ** 2)))
            print(f"  {kind:12s} {int(here.sum()):3d}  {first:.3f}  {after:.3f}")


def _line(name: str, trial: Trial | None, found: Scores) -> str:
    off = f"{trial.error:.3f}  {trial.covered:6.0%}" if trial is not None else f"{'':13s}"
    work = f"  {len(trial.fit.trace) - 1:6d}  {trial.seconds:7.0f}" if trial is not None else ""
    return f"{name:38s} {off}  {found.brier:.5f}  {found.log:.5f}  {found.error:.5f}{work}"


def _reliability(found: Scores) -> None:
    print("  stated       chances   mean   came true  95 % interval")
    for each in found.bins:
        print(
            f"  {each.low:.2f}-{each.high:.2f}  {each.count:9d}  {each.stated:.3f}  {each.came_true:9.3f}"
            f"  {each.least:.3f} to {each.most:.3f}"
        )


if __name__ == "__main__":
    main()
