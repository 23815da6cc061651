"""Trials on two workers that say when they are up, for a test that kills the process above them."""

from __future__ import annotations

from diagnose.model.library import Library
from diagnose.model.story import Workshop
from diagnose.trials.run import batches, run
from diagnose.trials.searches import OWN
from tests.small_trees import SMALL, compiled

__all__ = ["load", "work"]


def load() -> Library:
    """Called in each worker once."""
    print("up", flush=True)
    return compiled(SMALL)[0].library


def work() -> None:
    """More cars than anybody waits for."""
    for _ in run(load, batches(["wander"], 100_000, 1, (OWN,), 0.0), Workshop(), 2):
        pass


if __name__ == "__main__":
    work()
