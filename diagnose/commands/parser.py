"""What may be typed after `diagnose`: every command with its options, and what carries it out."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import Any

from diagnose.commands import (
    angles,
    completion,
    debrief,
    given,
    learn,
    plan,
    practice,
    rank,
    repair,
    shake,
    sheet,
    stored,
    trees,
    trials,
    values,
    walks,
    workshop,
)
from diagnose.commands.helps import add_command, dress
from diagnose.version import __version__
from diagnose.words import harmless

__all__ = ["parser"]

Options = argparse.Namespace

#: Commands in rooms of their own: name, module, what carries it out, what it is for.
OWN: tuple[tuple[str, Any, Callable[[Options], int], str], ...] = (
    (
        "plan",
        plan,
        lambda options: given.result("plan", plan.plan(options, given.library(options), given.read)),
        "what to replace first, in which stages, for which money",
    ),
    (
        "repair",
        repair,
        lambda options: given.result("repairs", repair.repair(options)),
        "what was done to the car of a job, what it still needs, how it drove since",
    ),
    (
        "angles",
        angles,
        lambda options: given.result("angles", angles.angles(options)),
        "a wheel-angle sheet: read or typed, questioned, judged and drawn",
    ),
    (
        "debrief",
        debrief,
        lambda options: given.result("debrief", debrief.debrief(options, given.library(options))),
        "what was felt on a drive, leg by leg: told or read, and beside an earlier drive",
    ),
    (
        "practice",
        practice,
        lambda options: _practice(options),
        "a simulated car with hidden faults: find them, and compare with the program",
    ),
    (
        "sheet",
        sheet,
        lambda options: _sheet(options),
        "a job as a page to hand over: HTML to print, Markdown or JSON",
    ),
)


class _Parser(argparse.ArgumentParser):
    """A parser whose messages repeat what was typed without what could drive the terminal."""

    def _print_message(self, message: str, file: Any = None) -> None:
        super()._print_message(harmless(message), file)


def parser() -> argparse.ArgumentParser:
    """The whole of it; `command` of what it gives carries the command out and returns the exit code."""
    found = _Parser(
        prog="diagnose",
        description="Finds out why a car steers or handles badly. "
        "Without a command: start, or go on with the last job.",
    )
    found.add_argument("--version", action="version", version=f"handling-diagnose {__version__}")
    shared, money = _shared(), _money()
    job = _job(money)
    for action in shared._actions:
        found._add_action(action)
    found.set_defaults(command=walks.start)
    commands = found.add_subparsers(metavar="COMMAND")

    walk = commands.add_parser("walk", parents=[shared, job], help="a new job: from a complaint to a cause")
    walk.add_argument("words", nargs="*", help="the complaint, in the driver's words or by id")
    walk.add_argument("--name", help="a name for the job, such as a plate")
    walk.set_defaults(command=walks.walk)

    resume = commands.add_parser("resume", parents=[shared], help="go on with a job")
    resume.add_argument("job", nargs="?", help="its id, such as job-7 (default: the last one still open)")
    resume.set_defaults(command=walks.resume)

    ranking = commands.add_parser(
        "rank", parents=[shared, job], help="ranking, next checks and conclusion of a case file"
    )
    rank.add_arguments(ranking)
    ranking.set_defaults(command=rank.rank)

    library = commands.add_parser(
        "trees", parents=[shared], help="look at the library of trees, or check your own"
    )
    trees.add_commands(library, shared)

    jobs = commands.add_parser(
        "jobs",
        parents=[shared],
        help="find, show, export, import, delete and rescue jobs, and what they come to",
    )
    stored.add_commands(jobs, shared)

    profile = commands.add_parser(
        "workshop",
        parents=[shared, money],
        help="what the workshop has and what an hour costs there: show it, or change it for new jobs",
    )
    workshop.add_arguments(profile)
    profile.set_defaults(command=workshop.workshop)

    turning = commands.add_parser(
        "shake", help="what may turn as often as a car shakes, from frequency and speed"
    )
    shake.add_arguments(turning)
    turning.set_defaults(command=shake.shake)

    for name, module, carry_out, told in OWN:
        add_command(commands, name, module, carry_out, told, shared)

    demo = commands.add_parser("demo", help="watch one invented job from complaint to conclusion")
    demo.add_argument("--fast", action="store_true", help="without pauses")
    demo.set_defaults(command=_demo)

    measure = commands.add_parser(
        "measure", parents=[shared], help="how well the trees do on cases whose cause is confirmed"
    )
    measure.add_argument("paths", nargs="+", type=Path, help="case files, or folders of them")
    measure.add_argument("--json", action="store_true", help="print the figures as JSON")
    measure.add_argument("--quick", action="store_true", help="leave out the plain orders of looking")
    measure.set_defaults(command=rank.measure)

    simulated = commands.add_parser(
        "trials", parents=[shared], help="how the choice of checks does on simulated cars"
    )
    trials.add_arguments(simulated)
    simulated.set_defaults(command=trials.trials)

    told = "the workshop's own figures from its closed jobs, or from case files"
    add_command(commands, "learn", learn, _learn, told, shared)
    told = "let your shell complete commands, options and ids"
    add_command(commands, "completion", completion, _completion, told)
    dress(found)
    return found


def _shared() -> _Parser:
    """What every command takes."""
    shared = _Parser(add_help=False)
    shared.add_argument(
        "--trees",
        metavar="PATH",
        action="append",
        type=Path,
        default=argparse.SUPPRESS,
        help="a folder of your own trees, laid over the shipped ones (may be given again)",
    )
    shared.add_argument(
        "--store",
        metavar="PATH",
        type=Path,
        default=argparse.SUPPRESS,
        help="where the jobs are kept (a file, or a folder)",
    )
    return shared


def _money() -> _Parser:
    """What an hour costs."""
    money = _Parser(add_help=False)
    money.add_argument(
        "--currency",
        metavar="WORD",
        type=values.currency,
        help="currency (if never told: cu, a neutral unit)",
    )
    money.add_argument(
        "--labour-rate",
        metavar="N",
        type=values.positive,
        help="labour per hour in that currency (if never told: 100)",
    )
    return money


def _job(money: _Parser) -> _Parser:
    """What is to be had, beside the money."""
    job = _Parser(add_help=False, parents=[money])
    job.add_argument(
        "--cannot",
        metavar="ID",
        action="append",
        default=[],
        help="a set-up, tool or check that is not to be had (may be given again)",
    )
    job.add_argument(
        "--can",
        metavar="ID",
        action="append",
        default=[],
        help="one that is to be had this time, whatever profile or case file say (may be given again)",
    )
    return job


def _practice(options: Options) -> int:
    library = given.library(options)
    return given.result(
        "practice", practice.practice(options, library, given.kept_workshop(options, library))
    )


def _completion(options: Options) -> int:
    print(completion.script(options.shell))
    return given.OK


def _sheet(options: Options) -> int:
    found = sheet.sheet(options, given.library(options), given.read)
    return given.OK if found is None else given.print_json(found)


def _demo(options: Options) -> int:
    from diagnose.screen.demo import demo

    demo(fast=options.fast)
    return given.OK


def _learn(options: Options) -> int:
    return learn.learn(options, given.library(options), given.read, given.print_json)
