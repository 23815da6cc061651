"""Simulated cars, searched in several ways."""

from __future__ import annotations

import argparse
import os

from diagnose.commands import given, values

__all__ = ["add_arguments", "trials"]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What the command takes."""
    parser.add_argument("complaints", nargs="*", metavar="COMPLAINT", help="ids; without any, all")
    parser.add_argument("--cars", type=values.many, default=700, help="cars in all (default: 700)")
    parser.add_argument("--seed", type=values.seed, default=1, help="the same seed draws the same cars")
    parser.add_argument("--workers", type=values.count, help="processes (default: one for each core)")
    parser.add_argument(
        "--ways",
        type=values.ways,
        help="ways of searching, joined by commas: own, bits, ratio, likely, fixed",
    )
    parser.add_argument(
        "--noise",
        type=values.noise,
        default=0.0,
        help="search once more with figures off by so much in log odds (0.4: a factor of 1.5)",
    )
    parser.add_argument("--json", action="store_true", help="print the figures as JSON")


def trials(options: argparse.Namespace) -> int:
    """Search simulated cars in several ways, and compare."""
    from functools import partial

    from diagnose.library.matching import known_complaint
    from diagnose.library.shelf import load
    from diagnose.model.story import Workshop
    from diagnose.screen.desk import console_for
    from diagnose.screen.trials import progress, trials_json, trials_page
    from diagnose.trials.run import batches, run
    from diagnose.trials.searches import SEARCHES
    from diagnose.trials.stats import summary

    library = given.library(options)
    for name in options.complaints:
        known_complaint(library, name)
    complaints = list(dict.fromkeys(options.complaints)) or list(library.complaints)
    ways = options.ways or tuple(SEARCHES)
    workshop = Workshop()
    work = batches(complaints, options.cars, options.seed, ways, options.noise)
    workers = min(options.workers or os.cpu_count() or 1, len(work))
    done = []
    with progress() as bar:
        task = bar.add_task("cars", total=options.cars)
        for each in run(partial(load, getattr(options, "trees", None)), work, workshop, workers):
            done.append(each)
            bar.advance(task, each.batch.cars)
    found = summary(done, options.seed, options.noise)
    if options.json:
        return given.print_json(trials_json(found))
    console, look = console_for()
    console.print(trials_page(library, found, workshop.currency, look))
    return given.OK
