"""What `--help` says of every command beside its options: what it is for, and examples."""

from __future__ import annotations

import argparse
import re
import textwrap
from collections.abc import Callable, Iterator
from typing import Any

__all__ = ["add_command", "dress", "parsers"]

#: Columns of a page of help, whatever the terminal has.
WIDTH = 80

#: Exit codes, as every page of help ends. docs/exit-codes.md says more.
CODES = "exit codes: 0 done, 1 a fault of the program, 2 a mistake in what was given"

#: Command -> what it is for, and examples: each the line to type and what it does.
HELPS: dict[str, tuple[str, tuple[tuple[str, str], ...]]] = {
    "": (
        "Finds out why a car steers or handles badly. Without a command: goes on with an open job, or begins "
        "one. The program advises; it does not certify.",
        (
            ("diagnose", "begin, or go on"),
            ('diagnose walk "pulls to the left"', "begin a job with these words"),
            ("diagnose demo --fast", "see what it does, on an invented car"),
            ("diagnose practice", "learn on a simulated car"),
        ),
    ),
    "walk": (
        "Begins a job: one question or check at a time, from what the driver says to what to put right. "
        "Every answer is kept as it is given; h at any prompt lists what can be typed.",
        (
            ("diagnose walk", "asks for the complaint"),
            ('diagnose walk "wanders on the motorway" --name "grey estate"', "in the driver's words"),
            ("diagnose walk wander --cannot lift", "by its id, without a lift this time"),
        ),
    ),
    "resume": (
        "Goes on with a job where it stopped, also after a crash.",
        (("diagnose resume", "the last one still open"), ("diagnose resume job-7", "that one")),
    ),
    "rank": (
        "Reads a case file (docs/case-files.md) and prints the ranking of causes, the next checks and the "
        "conclusion, without asking anything.",
        (
            ("diagnose rank estate.yaml", "as a page"),
            ("diagnose rank estate.yaml --top 20 --by minute", "longer, by blame per minute of looking"),
            ("diagnose rank - --json < estate.yaml", "through pipes, for other programs"),
        ),
    ),
    "trees": (
        "Shows the library of fault trees: complaints, causes, checks, remedies and their figures with "
        "sources; draws and validates trees.",
        (
            ("diagnose trees", "the complaints"),
            ("diagnose trees show wander", "one of them in full, or any other row"),
            ("diagnose trees check my-trees", "validate a folder of your own"),
        ),
    ),
    "trees complaints": ("Lists the complaints by area.", (("diagnose trees complaints", ""),)),
    "trees causes": (
        "Lists the faults with the part that each is of.",
        (("diagnose trees causes", ""), ("diagnose trees causes --json", "for other programs")),
    ),
    "trees checks": ("Lists the checks with set-up and minutes.", (("diagnose trees checks", ""),)),
    "trees remedies": ("Lists the remedies with hours and parts.", (("diagnose trees remedies", ""),)),
    "trees parts": ("Lists the parts and where they sit.", (("diagnose trees parts", ""),)),
    "trees conditions": (
        "Lists what may be known of a car besides its layout.",
        (("diagnose trees conditions", ""),),
    ),
    "trees sources": ("Lists where the figures come from.", (("diagnose trees sources", ""),)),
    "trees show": (
        "Shows one row of any kind with its figures and their sources.",
        (
            ("diagnose trees show wander", "a complaint"),
            ("diagnose trees show bounce-the-front", "a check with its findings"),
        ),
    ),
    "trees draw": ("Draws one fault tree: as text, as a picture, or for another program.", ()),
    "trees cuts": ("Lists the sets of faults that raise a complaint, and what each fault weighs.", ()),
    "trees weigh": (
        "Says what a complaint makes of the causes by itself, and how far its questions move that; without a "
        "complaint, which questions move nothing anywhere.",
        (("diagnose trees weigh wander", "one complaint"), ("diagnose trees weigh", "all questions")),
    ),
    "trees check": (
        "Validates a folder of trees of your own, laid over the shipped ones, and tells every problem with "
        "file, line and mend. Exit code 2 if there is one.",
        (("diagnose trees check my-trees", ""), ("diagnose trees check my-trees --json", "for an editor")),
    ),
    "trees schema": (
        "Prints the JSON Schema of a tree file, by which editors complete and check as you type.",
        (("diagnose trees schema > tree.schema.json", ""),),
    ),
    "jobs": (
        "Lists the jobs, all or those asked for, the last touched first. The commands below it show, report, "
        "export, import, answer, rename, and delete.",
        (
            ("diagnose jobs", "all of them"),
            ("diagnose jobs --complaint wander --closed", "closed ones with this complaint"),
            ("diagnose jobs --car estate --since 2026-05-01", "by words of the car, and day"),
            ("diagnose jobs --owed", "where work is still owed"),
        ),
    ),
    "jobs report": (
        "Says what the jobs come to: the most frequent causes by complaint, cures and how many of them at "
        "once, minutes per cure, parts fitted in vain. Takes the filters of the list.",
        (
            ("diagnose jobs report", "of all jobs"),
            ("diagnose jobs report --since 2026-01-01 --json", "of this year, for other programs"),
        ),
    ),
    "jobs show": (
        "Shows ranking and conclusion of a job as it stands.",
        (("diagnose jobs show job-7", ""), ("diagnose jobs show job-7 --json", "for other programs")),
    ),
    "jobs export": (
        "Writes a job as a readable file, without loss. It holds whatever was typed, names too.",
        (("diagnose jobs export job-7 estate.yaml", "into a new file"), ("diagnose jobs export job-7", "")),
    ),
    "jobs import": (
        "Opens a job from an exported file or a case file; it gets a new id.",
        (("diagnose jobs import estate.yaml", ""),),
    ),
    "jobs answer": (
        "Tells a job what was seen on its car, from a file of answers (docs/repairs.md).",
        (("diagnose jobs answer job-7 seen.yaml", ""),),
    ),
    "jobs rename": (
        "Gives a job another name in the lists.",
        (('diagnose jobs rename job-7 "grey estate, second visit"', ""),),
    ),
    "jobs rescue": (
        "Exports what can be read of a damaged store, a file for each job, into a new folder. The store "
        "itself stays as it is.",
        (
            ("diagnose jobs rescue jobs.sqlite rescued", "every job that can still be read"),
            ("diagnose jobs import rescued/job-7.yaml", "takes one of them into a sound store"),
        ),
    ),
    "jobs delete": (
        "Takes jobs out of the store for good, once you have confirmed it. Their bytes are overwritten; "
        "exports and backups are not touched.",
        (("diagnose jobs delete job-7", "asks first"), ("diagnose jobs delete job-7 job-9 --yes", "")),
    ),
    "jobs erase-person": (
        "Takes names and free words out of a job for good, once you have confirmed it: its name, what the "
        "driver said, notes, who drove. What was seen and done on the car stays.",
        (("diagnose jobs erase-person job-7", "asks first"),),
    ),
    "workshop": (
        "Shows what the workshop has and what an hour costs there, or changes it for new jobs.",
        (
            ("diagnose workshop", "as it is"),
            ("diagnose workshop --currency EUR --labour-rate 95", "money"),
            ("diagnose workshop --lacks rig --has helper", "what is not, and what is to be had"),
        ),
    ),
    "shake": (
        "Says what may turn as often as a car shakes, from frequency and speed (docs/vibration.md). Measure "
        "where it harms nobody, with a helper who reads.",
        (
            ("diagnose shake --at 110:14.6 --tyre '205/55 R16'", "one reading"),
            (
                "diagnose shake --at 110:14.6 --at 90:12.1 --drive rear --final-drive 3.9",
                "two, and a propshaft",
            ),
        ),
    ),
    "plan": ("Plans what to replace first, in which stages, for which money.", ()),
    "repair": ("Keeps what was done to the car of a job, and shows what that has proved.", ()),
    "angles": ("Reads a wheel-angle sheet, questions it, judges it and draws it.", ()),
    "debrief": ("Keeps what was felt on a drive, leg by leg, and sets it beside an earlier one.", ()),
    "sheet": (
        "Writes a job or a case file as one sheet, for the workshop or for the owner: as a page to print, as "
        "text, or for other programs.",
        (),
    ),
    "practice": (
        "Brings a simulated car with hidden faults: you choose what to look at and name the cause, and see "
        "at the end what the program did on the very same car.",
        (),
    ),
    "demo": (
        "Plays one invented job from complaint to conclusion; nothing of it is kept.",
        (("diagnose demo", ""), ("diagnose demo --fast", "without pauses")),
    ),
    "measure": (
        "Says how well the trees do on cases whose cause is confirmed.",
        (
            ("diagnose measure tests/cases", "a folder of case files"),
            ("diagnose measure closed/ --quick --json", "without the plain orders of looking"),
        ),
    ),
    "trials": (
        "Searches simulated cars in several ways, and compares what that takes.",
        (
            ("diagnose trials --cars 140", "over all complaints; takes minutes"),
            ("diagnose trials wander shimmy --ways own,bits --seed 7", "two of them, in two ways"),
        ),
    ),
    "completion": (
        "Prints what your shell needs to complete commands, options, and ids of complaints, remedies and "
        "jobs.",
        (),
    ),
    "learn": ("Works out the workshop's own figures from closed jobs, as a layer of trees.", ()),
}


def parsers(parser: argparse.ArgumentParser, name: str = "") -> Iterator[tuple[str, argparse.ArgumentParser]]:
    """Every parser below this one and itself, each with its command: `jobs show`."""
    yield name, parser
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for below, each in action.choices.items():
                yield from parsers(each, f"{name} {below}".strip())


def add_command(
    below: Any,
    name: str,
    module: Any,
    carry_out: Callable[[argparse.Namespace], int],
    told: str,
    *parents: argparse.ArgumentParser,
) -> None:
    """A command that has a module of its own, with its arguments and `EXAMPLES`. below: what it is added to;
    told: what it is for; parents: what it takes besides."""
    found = below.add_parser(name, parents=parents, help=told, epilog=module.EXAMPLES)
    module.add_arguments(found)
    found.set_defaults(command=carry_out)


def dress(parser: argparse.ArgumentParser) -> None:
    """Give every parser its description, its examples and the exit codes, in 80 columns."""
    for name, each in parsers(parser):
        description, examples = HELPS.get(name, ("", ()))
        lines = [f"  {command}" + (f"  {what}" if what else "") for command, what in examples]
        epilog = each.epilog or "\n".join(["examples:", *lines])
        each.description = "\n".join(textwrap.wrap(description, WIDTH))
        each.epilog = f"{fitted(epilog)}\n\n{CODES}"
        each.formatter_class = _Help


class _Help(argparse.RawDescriptionHelpFormatter):
    """Help in 80 columns, its description and examples as they were laid."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, max_help_position=30, width=WIDTH)


def fitted(text: str) -> str:
    """Examples with what each does beside it where there is room for all, else below; other text wrapped.

    An example is a line set in by two blanks, with two or more before what it does; lines set further in go
    on with that.
    """
    found: list[str] = []
    examples: list[tuple[str, str]] = []
    rest: list[str] = []

    def flush() -> None:
        column = max((len(command) for command, _ in examples), default=0) + 2
        beside = all(column + len(what) <= WIDTH for _, what in examples)
        for command, what in examples:
            found.append(command.ljust(column) + what if beside else command)
            if what and not beside:
                found.extend(" " * 6 + line for line in textwrap.wrap(what, WIDTH - 6))
        examples.clear()
        found.extend(textwrap.wrap(" ".join(rest), WIDTH))
        rest.clear()

    for line in text.rstrip().splitlines():
        example = re.match(r"(  \S.*?)(?:\s{2,}(\S.*))?$", line)
        more = re.match(r"\s{8,}(\S.*)$", line)
        if example:
            if rest:
                flush()
            examples.append((example[1].rstrip(), example[2] or ""))
        elif more and examples:
            examples[-1] = (examples[-1][0], f"{examples[-1][1]} {more[1]}".strip())
        elif not line.strip() or line.rstrip().endswith(":"):
            flush()
            found.append(line.rstrip())
        else:
            if examples:
                flush()
            rest.append(line.strip())
    flush()
    return "\n".join(line.rstrip() for line in found)
