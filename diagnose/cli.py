"""The command line: one thin command a verb; no rules of its own."""

from __future__ import annotations

import argparse
import errno
import json
import os
import sys
from collections.abc import Callable, Collection, Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from diagnose.commands import angles as _angles_command
from diagnose.commands import completion as _completion_command
from diagnose.commands import cuts as _cuts_command
from diagnose.commands import debrief as _debrief_command
from diagnose.commands import draw as _draw_command
from diagnose.commands import jobs as _jobs_command
from diagnose.commands import learn as _learn_command
from diagnose.commands import plan as _plan_command
from diagnose.commands import practice as _practice_command
from diagnose.commands import repair as _repair_command
from diagnose.commands import sheet as _sheet_command
from diagnose.commands.helps import dress
from diagnose.errors import (
    CaseError,
    DebriefError,
    DiagnoseError,
    ImpossibleAnswers,
    InputError,
    LibraryError,
    SheetError,
    WorkshopError,
)
from diagnose.version import __version__
from diagnose.words import harmless

if TYPE_CHECKING:
    from diagnose.choice.verdict import Verdict
    from diagnose.job.journal import Journal
    from diagnose.job.session import Session
    from diagnose.model.library import Library
    from diagnose.model.story import Workshop
    from diagnose.screen.desk import Desk

__all__ = ["run"]

#: Exit codes (docs/exit-codes.md): 0 done, 1 a fault of the program, 2 a mistake in what was given.
OK, FAILED, MISTAKE = 0, 1, 2


def run(arguments: Sequence[str]) -> int:
    """Carry out the command line and return its exit code; a user's mistake never shows a traceback."""
    try:
        code = _run(arguments)
        if sys.stdout is not None:
            sys.stdout.flush()  # here, and not after all is over, where nobody could say what went wrong
        return code
    except BrokenPipeError:
        # The reader has gone (such as `| head`): nothing more to say, and nobody to say it to.
        _drop_output()
        return OK
    except OSError as error:
        if error.errno not in _UNWRITTEN or error.filename is not None:
            raise
        _drop_output()
        _say(f"diagnose: what it has to say cannot be written ({error.strerror})", sys.stderr)
        return MISTAKE
    except KeyboardInterrupt:
        print(file=sys.stderr)
        return 130


#: What a full or broken disk says where the output goes into a file.
_UNWRITTEN = (errno.ENOSPC, errno.EIO, errno.EFBIG, errno.EDQUOT)


def _drop_output() -> None:
    """Let go of what is still to be written, lest Python tries again at its end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _run(arguments: Sequence[str]) -> int:
    if any("\0" in each for each in arguments):
        _say("diagnose: the character NUL stands in an argument: no name and no number has it", sys.stderr)
        return MISTAKE
    parser = _parser()
    if "_ARGCOMPLETE" in os.environ:  # a shell asks what may come next
        from diagnose.commands.completion import complete

        complete(parser)
    try:
        options = parser.parse_args(arguments)
    except SystemExit as leave:
        return int(leave.code or 0) if not isinstance(leave.code, str) else MISTAKE
    command: Callable[[argparse.Namespace], int] = options.command
    try:
        return command(options)
    except (LibraryError, CaseError, WorkshopError, SheetError, DebriefError) as error:
        count = len(error.problems)
        _say(f"{error}\n{count} problem{'s' if count != 1 else ''}", sys.stderr)
        return MISTAKE
    except DiagnoseError as error:
        _say(f"diagnose: {error}", sys.stderr)
        return MISTAKE


class _Parser(argparse.ArgumentParser):
    """A parser whose messages repeat what was typed without what could drive the terminal."""

    def _print_message(self, message: str, file: Any = None) -> None:
        super()._print_message(harmless(message), file)


def _say(text: str, stream: IO[str] | None = None) -> None:
    """Lines for a reader, in the letters that there are; names in them may come from anywhere."""
    out = stream or sys.stdout
    encoding = getattr(out, "encoding", None) or "ascii"
    print(harmless(text).encode(encoding, "replace").decode(encoding), file=out)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="diagnose",
        description="Finds out why a car steers or handles badly. "
        "Without a command: start, or go on with the last job.",
    )
    parser.add_argument("--version", action="version", version=f"handling-diagnose {__version__}")
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
    money = _Parser(add_help=False)
    money.add_argument(
        "--currency", metavar="WORD", type=_currency, help="currency (if never told: cu, a neutral unit)"
    )
    money.add_argument(
        "--labour-rate",
        metavar="N",
        type=_positive,
        help="labour per hour in that currency (if never told: 100)",
    )
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
    for action in shared._actions:
        parser._add_action(action)
    parser.set_defaults(command=_start)
    commands = parser.add_subparsers(metavar="COMMAND")

    walk = commands.add_parser("walk", parents=[shared, job], help="a new job: from a complaint to a cause")
    walk.add_argument("words", nargs="*", help="the complaint, in the driver's words or by id")
    walk.add_argument("--name", help="a name for the job, such as a plate")
    walk.set_defaults(command=_walk)

    resume = commands.add_parser("resume", parents=[shared], help="go on with a job")
    resume.add_argument("job", nargs="?", help="its id, such as job-7 (default: the last one still open)")
    resume.set_defaults(command=_resume)

    rank = commands.add_parser(
        "rank", parents=[shared, job], help="ranking, next checks and conclusion of a case file"
    )
    rank.add_argument("case", help="a case file, or - for standard input")
    rank.add_argument("--json", action="store_true", help="print the result as JSON")
    rank.add_argument(
        "--top", metavar="N", type=_count, default=8, help="how many causes to show (default: 8)"
    )
    rank.add_argument(
        "--by",
        choices=("blame", "there", "minute", "money"),
        default="blame",
        help="order of the table: to blame (default), there, or blame per minute or per money",
    )
    rank.set_defaults(command=_rank)

    trees = commands.add_parser(
        "trees", parents=[shared], help="look at the library of trees, or check your own"
    )
    trees.add_argument("--json", action="store_true", help="print the list as JSON")
    trees.set_defaults(command=_trees, what="complaints")
    of = trees.add_subparsers(metavar="WHAT")
    for what in ("complaints", "causes", "checks", "remedies", "parts", "conditions", "sources"):
        listing = of.add_parser(what, parents=[shared], help=f"list the {what}")
        listing.add_argument("--json", action="store_true", help="print the list as JSON")
        listing.set_defaults(command=_trees, what=what)
    show = of.add_parser(
        "show", parents=[shared], help="one row of any kind with its figures and their sources"
    )
    show.add_argument("id", help="id of a complaint, mechanism, fault, part, check or remedy")
    show.add_argument("--json", action="store_true", help="print it as JSON")
    show.set_defaults(command=_show)
    draw = of.add_parser(
        "draw",
        parents=[shared],
        help="one fault tree as a drawing, in the terminal or as a picture; with a job's figures if wanted",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog=_draw_command.EXAMPLES,
    )
    _draw_command.add_arguments(draw)
    draw.set_defaults(command=_draw)
    cuts = of.add_parser(
        "cuts",
        parents=[shared],
        help="what it takes to raise a complaint: minimal cut sets, and how much each fault weighs",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog=_cuts_command.EXAMPLES,
    )
    _cuts_command.add_arguments(cuts)
    cuts.set_defaults(command=_cuts)
    weigh = of.add_parser(
        "weigh", parents=[shared], help="what a complaint says by itself, and which questions move nothing"
    )
    weigh.add_argument("complaint", nargs="?", help="its id (default: list what moves nothing in any)")
    weigh.add_argument("--json", action="store_true", help="print it as JSON")
    weigh.set_defaults(command=_weigh)
    check = of.add_parser("check", parents=[shared], help="validate a folder of trees of your own")
    check.add_argument("path", type=Path)
    check.add_argument("--json", action="store_true", help="print the problems as JSON")
    check.set_defaults(command=_check)
    schema = of.add_parser("schema", help="JSON Schema of a tree file, for editors")
    schema.set_defaults(command=_schema)

    jobs = commands.add_parser(
        "jobs",
        parents=[shared],
        help="find, show, export, import, delete and rescue jobs, and what they come to",
    )
    _jobs_command.add_filters(jobs)
    _jobs_command.add_last(jobs)
    jobs.add_argument("--json", action="store_true", help="print the list as JSON")
    jobs.set_defaults(command=_jobs)
    act = jobs.add_subparsers(metavar="ACT")
    figures = act.add_parser(
        "report", parents=[shared], help="what the jobs come to: causes, cures, time, vain"
    )
    _jobs_command.add_filters(figures, below=True)
    figures.add_argument(
        "--json", action="store_true", default=argparse.SUPPRESS, help="print the figures as JSON"
    )
    figures.add_argument(
        "--to", metavar="FILE", type=_sheet_command.target, help="as a page: .html, .md or .json"
    )
    figures.add_argument("--replace", action="store_true", help="write over a file that is there already")
    figures.set_defaults(command=_jobs_report)
    shown = act.add_parser("show", parents=[shared], help="ranking and conclusion of a job as it stands")
    shown.add_argument("job")
    shown.add_argument("--json", action="store_true", help="print the result as JSON")
    shown.set_defaults(command=_job_show)
    export = act.add_parser("export", parents=[shared], help="a job as a readable file, without loss")
    export.add_argument("job")
    export.add_argument("file", nargs="?", type=Path, help="default: standard output")
    export.set_defaults(command=_job_export)
    imported = act.add_parser(
        "import", parents=[shared], help="a job from such a file, or from a case file; it gets a new id"
    )
    imported.add_argument("file", help="the file, or - for standard input")
    imported.set_defaults(command=_job_import)
    answer = act.add_parser(
        "answer", parents=[shared], help="what was seen on the car of a job, from a file of answers"
    )
    answer.add_argument("job", help="its id, or last: the last one told of")
    answer.add_argument("file", help="`answers` as in a case file, or - for standard input")
    answer.set_defaults(command=_job_answer)
    rescued = act.add_parser("rescue", help="export what can still be read of a damaged store, job by job")
    rescued.add_argument("damaged", metavar="STORE", type=Path, help="the damaged file; it stays as it is")
    rescued.add_argument("folder", type=Path, help="where to write the exports; made if it is not there")
    rescued.set_defaults(command=_job_rescue)
    rename = act.add_parser("rename", parents=[shared], help="give a job another name")
    rename.add_argument("job")
    rename.add_argument("name")
    rename.set_defaults(command=_job_rename)

    deleted = act.add_parser("delete", parents=[shared], help="take jobs out of the store for good")
    deleted.add_argument("jobs", nargs="+", metavar="JOB", help="their ids")
    erased = act.add_parser(
        "erase-person", parents=[shared], help="take names and free words out of a job for good"
    )
    erased.add_argument("job", help="its id")
    for parser_, command in ((deleted, _job_delete), (erased, _job_erase)):
        parser_.add_argument("--yes", action="store_true", help="do not ask")
        parser_.set_defaults(command=command)

    workshop = commands.add_parser(
        "workshop",
        parents=[shared, money],
        help="what the workshop has and what an hour costs there: show it, or change it for new jobs",
    )
    workshop.add_argument(
        "--lacks",
        metavar="ID",
        action="append",
        default=[],
        help="a set-up or tool that is not to be had here (may be given again)",
    )
    workshop.add_argument(
        "--has",
        metavar="ID",
        action="append",
        default=[],
        help="one that is to be had after all (may be given again)",
    )
    workshop.add_argument("--forget", action="store_true", help="back to the defaults first")
    workshop.add_argument("--json", action="store_true", help="print the profile as JSON")
    workshop.set_defaults(command=_profile)

    shake = commands.add_parser(
        "shake", help="what may turn as often as a car shakes, from frequency and speed"
    )
    shake.add_argument(
        "--at",
        metavar="SPEED:HZ[:RPM]",
        action="append",
        default=[],
        help="a speed and the frequency there, such as 110:14.6 or '68 mph:14.6' (may be given again)",
    )
    shake.add_argument(
        "--speed", metavar="SPEED", action="append", default=[], help="the same apart: 110, '68 mph'"
    )
    shake.add_argument(
        "--frequency", metavar="HZ", action="append", default=[], help="the frequency at that speed"
    )
    shake.add_argument("--rpm", metavar="N", action="append", default=[], help="engine speed at that speed")
    shake.add_argument("--tyre", metavar="SIZE", help="tyre size, such as '205/55 R16'")
    shake.add_argument("--circumference", metavar="M", help="what one turn rolls, in metres, if measured")
    shake.add_argument(
        "--final-drive", metavar="N", help="propshaft turns for one of the wheels, such as 3.9"
    )
    shake.add_argument(
        "--gear-ratio", metavar="N", help="of the gear engaged, where engine speed was not read"
    )
    shake.add_argument("--drive", choices=("front", "rear", "all"), help="driven wheels; front: no propshaft")
    shake.add_argument("--cylinders", metavar="N", help="of a four-stroke engine")
    shake.add_argument(
        "--by",
        choices=("speedometer", "satellite"),
        default="speedometer",
        help="how the speed was had (default: speedometer)",
    )
    shake.add_argument("--seconds", metavar="N", default="20", help="how long it was recorded (default: 20)")
    shake.add_argument("--rate", metavar="N", help="samples a second of the recorder")
    shake.add_argument("--felt", action="store_true", help="beats counted by hand, not recorded")
    shake.add_argument("--json", action="store_true", help="print the result as JSON")
    shake.set_defaults(command=_shake)

    for name, module, carry_out, told in (
        (
            "plan",
            _plan_command,
            _plan,
            "what to replace first, in which stages, for which money",
        ),
        (
            "repair",
            _repair_command,
            _repair,
            "what was done to the car of a job, what it still needs, how it drove since",
        ),
        (
            "angles",
            _angles_command,
            _angles,
            "a wheel-angle sheet: read or typed, questioned, judged and drawn",
        ),
        (
            "debrief",
            _debrief_command,
            _debrief,
            "what was felt on a drive, leg by leg: told or read, and beside an earlier drive",
        ),
        (
            "practice",
            _practice_command,
            _practice,
            "a simulated car with hidden faults: find them, and compare with the program",
        ),
        (
            "sheet",
            _sheet_command,
            _sheet,
            "a job as a page to hand over: HTML to print, Markdown or JSON",
        ),
    ):
        own = commands.add_parser(
            name,
            parents=[shared],
            help=told,
            formatter_class=argparse.RawDescriptionHelpFormatter,
            epilog=module.EXAMPLES,
        )
        module.add_arguments(own)
        own.set_defaults(command=carry_out)

    demo = commands.add_parser("demo", help="watch one invented job from complaint to conclusion")
    demo.add_argument("--fast", action="store_true", help="without pauses")
    demo.set_defaults(command=_demo)

    measure = commands.add_parser(
        "measure", parents=[shared], help="how well the trees do on cases whose cause is confirmed"
    )
    measure.add_argument("paths", nargs="+", type=Path, help="case files, or folders of them")
    measure.add_argument("--json", action="store_true", help="print the figures as JSON")
    measure.add_argument("--quick", action="store_true", help="leave out the plain orders of looking")
    measure.set_defaults(command=_measure)

    trials = commands.add_parser(
        "trials", parents=[shared], help="how the choice of checks does on simulated cars"
    )
    trials.add_argument("complaints", nargs="*", metavar="COMPLAINT", help="ids; without any, all")
    trials.add_argument("--cars", type=_many, default=700, help="cars in all (default: 700)")
    trials.add_argument("--seed", type=_seed, default=1, help="the same seed draws the same cars")
    trials.add_argument("--workers", type=_count, help="processes (default: one for each core)")
    trials.add_argument(
        "--ways", type=_ways, help="ways of searching, joined by commas: own, bits, ratio, likely, fixed"
    )
    trials.add_argument(
        "--noise",
        type=_noise,
        default=0.0,
        help="search once more with figures off by so much in log odds (0.4: a factor of 1.5)",
    )
    trials.add_argument("--json", action="store_true", help="print the figures as JSON")
    trials.set_defaults(command=_trials)

    learn = commands.add_parser(
        "learn",
        parents=[shared],
        help="the workshop's own figures from its closed jobs, or from case files",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog=_learn_command.EXAMPLES,
    )
    _learn_command.add_arguments(learn)
    learn.set_defaults(command=_learn)

    completion = commands.add_parser(
        "completion",
        help="let your shell complete commands, options and ids",
        epilog=_completion_command.EXAMPLES,
    )
    _completion_command.add_arguments(completion)
    completion.set_defaults(command=_completion)
    dress(parser)
    return parser


def _positive(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not 0.01 <= value <= 100_000.0:
        raise argparse.ArgumentTypeError(f"{text!r} is not money per hour: write a number such as 95")
    return value


def _currency(text: str) -> str:
    """A currency as a case file may have it, so that every place takes the same words."""
    word = " ".join(text.split())
    if not word or len(word) > 8 or not word.isprintable():
        raise argparse.ArgumentTypeError(f"{text!r} is not a currency: write up to 8 letters such as EUR")
    return word


def _count(text: str) -> int:
    if not text.isdigit() or not 1 <= int(text) <= 10_000:
        raise argparse.ArgumentTypeError(f"{text!r} is not a count: write a whole number from 1")
    return int(text)


def _many(text: str) -> int:
    if not text.isdigit() or not 1 <= int(text) <= 1_000_000:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of cars: write a whole number from 1")
    return int(text)


def _seed(text: str) -> int:
    if not text.isdigit() or len(text) > 9:
        raise argparse.ArgumentTypeError(f"{text!r} is not a seed: write a whole number such as 7")
    return int(text)


def _noise(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 <= value <= 3.0:
        raise argparse.ArgumentTypeError(f"{text!r} is not a spread of log odds: write 0 to 3, such as 0.4")
    return value


def _ways(text: str) -> tuple[str, ...]:
    from diagnose.trials.searches import OWN, SEARCHES

    named = [each.strip() for each in text.split(",")]
    unknown = [each for each in named if each not in SEARCHES]
    if unknown:
        known = ", ".join(SEARCHES)
        raise argparse.ArgumentTypeError(f"{unknown[0]!r} is not a way of searching; these are: {known}")
    # The program's own way is what the others are set against.
    return tuple(dict.fromkeys([OWN, *named]))


# What every command needs ----------------------------------------------------------------------


def _library(options: argparse.Namespace) -> Library:
    from diagnose.library.shelf import load

    return load(getattr(options, "trees", None))


def _journal(options: argparse.Namespace) -> Journal:
    from diagnose.job.journal import Journal

    return Journal.open(getattr(options, "store", None))


def _workshop(options: argparse.Namespace, library: Library, base: Workshop | None = None) -> Workshop:
    """The workshop of the options, over that of the profile or of a case file."""
    from diagnose.model.story import Workshop

    base = base or Workshop()
    known = {**library.set_ups, **library.tools, **library.checks}
    given = {"--cannot": options.cannot, "--can": options.can}
    _demand_known(given, known, "set-up, tool or check", "write the id of a set-up, a tool or a check")
    return Workshop(
        options.currency or base.currency,
        options.labour_rate or base.labour_rate,
        (base.cannot | set(options.cannot)) - set(options.can),
    )


def _demand_known(given: dict[str, list[str]], known: Collection[str], called: str, otherwise: str) -> None:
    """Refuse ids that are not known, and ids that two options contradict each other about; all at once."""
    from diagnose.library.nearest import suggest

    wrong = [
        f"{option} {name}: there is no such {called}; {suggest(name, known, otherwise)}"
        for option, names in given.items()
        for name in dict.fromkeys(names)
        if name not in known
    ]
    one, other = given
    both = [name for name in dict.fromkeys(given[one]) if name in given[other]]
    wrong += [f"{one} {name} and {other} {name} exclude each other: keep one of them" for name in both]
    if wrong:
        raise InputError("\n".join(wrong))


def _kept_workshop(options: argparse.Namespace, library: Library) -> Workshop:
    """What a new job begins with: the workshop's profile, or the defaults."""
    from diagnose.job.profile import profile_path, read_profile
    from diagnose.model.story import Workshop

    return read_profile(library, profile_path(getattr(options, "store", None))) or Workshop()


def _print_json(value: Any) -> int:
    print(json.dumps(value, indent=2, ensure_ascii=True, allow_nan=False))
    return OK


# Walks --------------------------------------------------------------------------------------------


def _start(options: argparse.Namespace) -> int:
    """Without a command: choose among the open jobs, or begin a new one."""
    from diagnose.job.lookup import Wanted, look_up
    from diagnose.screen.answers import whole
    from diagnose.screen.desk import clean, make_desk
    from diagnose.screen.walk import say

    library = _library(options)
    desk = make_desk()
    with _journal(options) as journal:
        still = look_up(library, journal, Wanted(closed=False), 9).rows
        if not still:
            return _new(desk, library, journal, "", None, _kept_workshop(options, library))
        say(desk, "Jobs still open:", "bold")
        for number, row in enumerate(still, start=1):
            touched = f" (last touched {row.last:%Y-%m-%d %H:%M} UTC)" if row.last else ""
            say(desk, f"  {number} {row.id} {clean(row.name)}{touched}")
        try:
            while True:
                typed = desk.ask(
                    "[Enter] go on with the first [1-9] with that one [n] a new job [q] stop >"
                ).strip()
                if typed.lower() in ("n", "new"):
                    return _new(desk, library, journal, "", None, _kept_workshop(options, library))
                if typed.lower() in ("q", "quit"):
                    return OK
                picked = whole(typed, len(still)) if typed else 1
                if picked is not None:
                    return _go_on(desk, library, journal, still[picked - 1].id)
                say(desk, f"{clean(typed)!r}: press Enter, or type a number, n or q.")
        except (EOFError, KeyboardInterrupt):
            return OK


def _walk(options: argparse.Namespace) -> int:
    from diagnose.screen.desk import make_desk

    library = _library(options)
    workshop = _workshop(options, library, _kept_workshop(options, library))
    with _journal(options) as journal:
        return _new(make_desk(), library, journal, " ".join(options.words), options.name, workshop)


def _new(
    desk: Desk, library: Library, journal: Journal, words: str, name: str | None, workshop: Workshop
) -> int:
    from diagnose.job import events as e
    from diagnose.job.session import Session
    from diagnose.screen.desk import clean
    from diagnose.screen.walk import Stop, ask_complaint, say
    from diagnose.screen.workshop import lacks

    if workshop.cannot:
        # What is left out of a job is said at its beginning, lest somebody wonder at the checks proposed.
        say(desk, f"Left out of this job: whatever needs {lacks(library, workshop)}.", "dim")
    try:
        complaint, side, said = ask_complaint(desk, library, words)
    except (Stop, EOFError, KeyboardInterrupt):
        return OK
    heard = e.ComplaintHeard.from_dict(
        {"event": "complaint-heard", "complaint": complaint, "side": side, "words": said}
    )
    title = " ".join(clean(name or said or library.complaints[complaint].name).split())[:80]
    session = Session.start(library, journal, title, workshop, [[heard]])
    return _run_walk(desk, session)


def _resume(options: argparse.Namespace) -> int:
    from diagnose.job.lookup import last_open
    from diagnose.screen.desk import make_desk

    library = _library(options)
    with _journal(options) as journal:
        job = options.job or last_open(library, journal)
        if job is None:
            raise InputError("no job is open: `diagnose walk` begins one, `diagnose jobs` lists them all")
        return _go_on(make_desk(), library, journal, job)


def _go_on(desk: Desk, library: Library, journal: Journal, job: str) -> int:
    from diagnose.job.session import Session

    return _run_walk(desk, Session(library, journal, job))


def _run_walk(desk: Desk, session: Session) -> int:
    from diagnose.screen.walk import Stop, say, walk

    try:
        walk(desk, session)
    except (Stop, EOFError, KeyboardInterrupt):
        say(desk, "")
        say(desk, f"Kept as {session.job}. `diagnose` goes on with it.")
    return OK


# Case files -------------------------------------------------------------------------------------------


def _read(name: str) -> bytes:
    """The bytes of a file or of standard input; a file that cannot be read is the user's to mend."""
    from diagnose.job.files import read_bytes

    return read_bytes(name)


def _rank(options: argparse.Namespace) -> int:
    from diagnose.job.case import read_case
    from diagnose.job.passing import passing

    library = _library(options)
    case = read_case(library, _read(options.case), "<stdin>" if options.case == "-" else options.case)
    with passing(library, case, _workshop(options, library, case.workshop)) as session:
        if options.json:
            from diagnose.report import ranking_json

            return _print_json(ranking_json(session.verdict, session.story))
        _show_verdict(session.verdict, options.top, options.by)
    return OK


def _show_verdict(verdict: Verdict, top: int, by: str = "blame") -> None:
    from diagnose.screen import pages
    from diagnose.screen.desk import console_for

    console, look = console_for()
    names = [verdict.library.complaints[c].name for c in verdict.car.complaints]
    console.print(pages.paragraph(" and ".join(names), look, 0, "bold"))
    console.print(pages.ranking_page(verdict, look, top, by))
    conflict = pages.conflict_page(verdict, look)
    if conflict is not None:
        console.print(conflict)
    if verdict.unfit:
        console.print(pages.unfit_page(verdict.unfit, look))
    if verdict.next is not None:
        check = verdict.library.checks[verdict.next.check]
        console.print(pages.check_page(verdict, check, look, verdict.next))
        page, _ = pages.others_page(verdict, look, 5)
        console.print(page)
    else:
        console.print(
            pages.paragraph("No further check saves more than it costs: decide now.", look, 0, "bold")
        )
    console.print(pages.conclusion_page(verdict, verdict.conclusion, look))


def _measure(options: argparse.Namespace) -> int:
    from dataclasses import asdict

    from diagnose.job.case import read_case
    from diagnose.library.paths import standing
    from diagnose.measure import measure, summary
    from diagnose.screen.tables import measured_page

    library = _library(options)
    files: list[Path] = []
    for path in options.paths:
        files += sorted(path.rglob("*.yaml")) if standing(path) == "folder" else [path]
    if not files:
        raise InputError(f"no case files in {', '.join(map(str, options.paths))}: they end in .yaml")
    results = []
    for file in files:
        case = read_case(library, _read(str(file)), str(file))
        if case.confirmed is not None:
            try:
                results.append(measure(library, case, not options.quick))
            except ImpossibleAnswers as error:
                raise ImpossibleAnswers(f"{file}: {error}") from error
    if options.json:
        found = {"cases": [asdict(each) for each in results], "summary": asdict(summary(results))}
        return _print_json({"format": "handling-diagnose/measured/2", **found})
    from diagnose.screen.desk import console_for

    console, look = console_for()
    console.print(measured_page(results, look))
    return OK


# Trees ------------------------------------------------------------------------------------------------


def _trees(options: argparse.Namespace) -> int:
    from diagnose.screen import tables
    from diagnose.screen.desk import console_for

    library = _library(options)
    rows = tables.listing(library, options.what)
    if getattr(options, "json", False):
        return _print_json({"format": f"handling-diagnose/{options.what}/1", options.what: rows})
    console, look = console_for()
    console.print(tables.listing_page(options.what, rows, look, library.areas))
    return OK


def _show(options: argparse.Namespace) -> int:
    from diagnose.screen import tables
    from diagnose.screen.desk import console_for

    library = _library(options)
    row = tables.find_row(library, options.id)
    if options.json:
        return _print_json({"format": "handling-diagnose/row/1", **row})
    console, look = console_for()
    console.print(tables.row_page(library, row, look))
    return OK


def _draw(options: argparse.Namespace) -> int:
    _draw_command.draw(options, _library(options))
    return OK


def _cuts(options: argparse.Namespace) -> int:
    return _result("cuts", _cuts_command.cuts(options, _library(options)))


def _weigh(options: argparse.Namespace) -> int:
    from diagnose.choice.influence import weigh, weigh_all
    from diagnose.library.matching import known_complaint
    from diagnose.screen import tables
    from diagnose.screen.desk import console_for

    library = _library(options)
    console, look = console_for()
    if options.complaint:
        known_complaint(library, options.complaint)
        one = weigh(library, options.complaint)
        if options.json:
            return _print_json({"format": "handling-diagnose/weighed/1", **tables.weighed_json(one)})
        console.print(tables.weighed_page(library, one, look))
        return OK
    idle = weigh_all(library)
    if options.json:
        return _print_json({"format": "handling-diagnose/idle/1", **tables.idle_json(idle)})
    console.print(tables.idle_page(library, idle, look))
    return OK


def _check(options: argparse.Namespace) -> int:
    from diagnose.library.shelf import check

    problems = check(options.path)
    if options.json:
        _print_json(
            {
                "format": "handling-diagnose/problems/1",
                "problems": [
                    {
                        "file": p.place.file,
                        "line": p.place.line,
                        "column": p.place.column,
                        "wrong": p.wrong,
                        "mend": p.mend,
                    }
                    for p in problems
                ],
            }
        )
        return MISTAKE if problems else OK
    if problems:
        raise LibraryError(problems)
    _say(f"{options.path}: no problems")
    return OK


def _schema(options: argparse.Namespace) -> int:
    from diagnose.library.schema import json_schema

    return _print_json(json_schema())


# Jobs -------------------------------------------------------------------------------------------------


def _jobs(options: argparse.Namespace) -> int:
    library = _library(options)
    with _journal(options) as journal:
        return _result("jobs", _jobs_command.listing(options, library, journal))


def _jobs_report(options: argparse.Namespace) -> int:
    library = _library(options)
    with _journal(options) as journal:
        return _result("shop", _jobs_command.report(options, library, journal))


def _job_show(options: argparse.Namespace) -> int:
    from diagnose.job.session import Session

    library = _library(options)
    with _journal(options) as journal:
        session = Session(library, journal, options.job)
        if not session.story.heard:
            raise InputError(
                f"{options.job} has no complaint yet: `diagnose resume {options.job}` asks for it"
            )
        if options.json:
            from diagnose.report import ranking_json

            return _print_json({"job": options.job, **ranking_json(session.verdict, session.story)})
        _show_verdict(session.verdict, 8)
    return OK


def _job_export(options: argparse.Namespace) -> int:
    from diagnose.job.export import export

    with _journal(options) as journal:
        text = export(journal, options.job)
    if options.file is None:
        # Without loss, so not in the terminal's letters: an export is UTF-8 wherever it goes.
        reconfigure = getattr(sys.stdout, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(encoding="utf-8")
        sys.stdout.write(text)
        return OK
    from diagnose.job.files import write_text

    write_text(options.file, text, new=True)
    _say(f"{options.job} written to {options.file}")
    return OK


def _job_rescue(options: argparse.Namespace) -> int:
    """Export each job as far as it can be read, and say of each what is missing."""
    from diagnose.job.export import text_of
    from diagnose.job.files import plain_name, write_text
    from diagnose.job.rescue import rescue
    from diagnose.screen.prose import tell

    found = rescue(options.damaged)
    try:
        options.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except (OSError, ValueError) as error:
        words = getattr(error, "strerror", None) or str(error)
        raise InputError(f"{plain_name(options.folder)}: cannot be made ({words}); name another") from error
    kept = [saved for saved in found if saved.entries]
    for saved in kept:
        text = text_of(saved.name or saved.id, saved.entries)
        write_text(options.folder / f"{saved.id}.yaml", text, new=True)
    for saved in found:
        if not saved.whole:
            told = f"its first {len(saved.entries)} events" if saved.entries else "nothing of it"
            tell(
                f"{saved.id} {saved.name}: not whole; {told} saved, {saved.unused} behind a gap are left out"
            )
    whole = sum(saved.whole for saved in found)
    tell(f"{len(kept)} of {len(found)} jobs written to {options.folder}, {whole} of them whole.")
    if kept:
        tell("`diagnose jobs import FILE` brings each back, into a new store with --store or DIAGNOSE_STORE.")
    return OK if whole == len(found) else FAILED


def _job_import(options: argparse.Namespace) -> int:
    from diagnose.job.export import MOST_BYTES, import_text
    from diagnose.job.files import read_bytes

    data = read_bytes(options.file, MOST_BYTES)
    if len(data) > MOST_BYTES:
        raise InputError(f"{options.file}: the file is too large for a job; import a job's export")
    if _is_case(data):
        return _open_case(options, data)
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise InputError(
            f"{options.file}: byte {error.start} is not UTF-8; save the file as UTF-8"
        ) from error
    with _journal(options) as journal:
        job = import_text(journal, text, "<stdin>" if options.file == "-" else options.file)
    print(f"imported as {job}")
    return OK


def _job_answer(options: argparse.Namespace) -> int:
    from diagnose.job.case import read_answers
    from diagnose.job.session import Session

    library = _library(options)
    told = read_answers(library, _read(options.file), "<stdin>" if options.file == "-" else options.file)
    with _journal(options) as journal:
        session = Session(library, journal, _repair_command.job_named(library, journal, options.job))
        if not session.story.heard:
            raise InputError(
                f"{session.job} has no complaint yet: `diagnose resume {session.job}` asks for it"
            )
        absent = [seen[0].check for seen in told if seen[0].check not in session.verdict.car.checks]
        if absent:
            raise InputError(f"{', '.join(absent)}: cannot be done on this car; leave it out")
        for seen in told:
            session.answer(library.checks[seen[0].check], seen)
    count = len(told)
    print(f"kept in {session.job}: {count} check{'s' if count != 1 else ''}")
    return OK


def _is_case(data: bytes) -> bool:
    """True for a case file; a job's export begins with `journal:`."""
    import re

    first = re.search(rb"^(case|journal)[ \t]*:", data, re.MULTILINE)
    return first is not None and first[1] == b"case"


def _open_case(options: argparse.Namespace, data: bytes) -> int:
    """A job with everything in it that a case file tells."""
    from diagnose.job.case import read_case
    from diagnose.job.session import Session
    from diagnose.job.steps import case_name, steps_of

    library = _library(options)
    case = read_case(library, data, "<stdin>" if options.file == "-" else options.file)
    with _journal(options) as journal:
        session = Session.start(library, journal, case_name(case), case.workshop, steps_of(library, case))
    print(f"imported as {session.job}")
    return OK


def _job_rename(options: argparse.Namespace) -> int:
    with _journal(options) as journal:
        journal.rename(options.job, options.name)
    _say(f"{options.job} is now called {options.name}")
    return OK


def _job_delete(options: argparse.Namespace) -> int:
    with _journal(options) as journal:
        _jobs_command.delete(options, journal)
    return OK


def _job_erase(options: argparse.Namespace) -> int:
    library = _library(options)
    with _journal(options) as journal:
        _jobs_command.erase_person(options, library, journal)
    return OK


# The workshop -----------------------------------------------------------------------------------------


def _profile(options: argparse.Namespace) -> int:
    """Change the workshop's profile as the options say, if they say anything, and show it."""
    from diagnose.job.profile import forget, profile_path, read_profile, write_profile
    from diagnose.model.story import Workshop
    from diagnose.screen.desk import clean, console_for
    from diagnose.screen.pages import paragraph
    from diagnose.screen.workshop import labour_line, lack_line, workshop_json, workshop_page

    library = _library(options)
    path = profile_path(getattr(options, "store", None))
    told = bool(options.currency or options.labour_rate or options.lacks or options.has)
    found = None if options.forget else read_profile(library, path, options.has)
    base = found or Workshop()
    # What the trees do not know any more can still be taken off.
    known = {*library.set_ups, *library.tools, *base.cannot}
    given = {"--lacks": options.lacks, "--has": options.has}
    _demand_known(given, known, "set-up or tool", "`diagnose workshop` lists them")
    lacks = (base.cannot | set(options.lacks)) - set(options.has)
    workshop = Workshop(options.currency or base.currency, options.labour_rate or base.labour_rate, lacks)
    if options.forget:
        forget(path)
    if told:
        write_profile(path, workshop)
    kept = told or found is not None
    if options.json:
        shown = workshop_json(library, workshop, path, kept)
        return _print_json({"format": "handling-diagnose/workshop/1", **shown})
    console, look = console_for()
    if not (told or options.forget):
        console.print(workshop_page(library, workshop, kept, look))
        if kept:
            # A path is there to be copied: it is neither cut nor wrapped.
            console.print(clean(str(path)), soft_wrap=True)
        return OK
    done = "Kept for new jobs; jobs already begun stay as they are." if told else "Back to the defaults."
    for line in (labour_line(workshop), lack_line(library, workshop), done):
        console.print(paragraph(line, look, 0))
    return OK


def _shake(options: argparse.Namespace) -> int:
    from diagnose.screen.desk import console_for
    from diagnose.screen.shake import shake_json, shake_page
    from diagnose.shake.advice import advise
    from diagnose.shake.asked import asked
    from diagnose.shake.fit import fits_of
    from diagnose.shake.grades import named_shares

    readings, build = asked(
        options.at,
        options.speed,
        options.frequency,
        options.rpm,
        by=options.by,
        seconds=options.seconds,
        rate=options.rate,
        felt=options.felt,
        tyre=options.tyre,
        circumference=options.circumference,
        final_drive=options.final_drive,
        gear_ratio=options.gear_ratio,
        drive=options.drive,
        cylinders=options.cylinders,
    )
    fits = fits_of(readings, build)
    advice = advise(fits, readings, build)
    if options.json:
        found = shake_json(fits, readings, advice, named_shares(fits))
        return _print_json({"format": "handling-diagnose/shake/1", **found})
    console, look = console_for()
    console.print(shake_page(fits, readings, advice, look))
    return OK


def _repair(options: argparse.Namespace) -> int:
    return _result("repairs", _repair_command.repair(options))


def _plan(options: argparse.Namespace) -> int:
    return _result("plan", _plan_command.plan(options, _library(options), _read))


def _angles(options: argparse.Namespace) -> int:
    return _result("angles", _angles_command.angles(options))


def _debrief(options: argparse.Namespace) -> int:
    return _result("debrief", _debrief_command.debrief(options, _library(options)))


def _practice(options: argparse.Namespace) -> int:
    library = _library(options)
    return _result("practice", _practice_command.practice(options, library, _kept_workshop(options, library)))


def _completion(options: argparse.Namespace) -> int:
    print(_completion_command.script(options.shell))
    return OK


def _sheet(options: argparse.Namespace) -> int:
    found = _sheet_command.sheet(options, _library(options), _read)
    return OK if found is None else _print_json(found)


def _result(name: str, found: dict[str, Any] | None) -> int:
    """The end of a command that returns what is to be printed as JSON, or has shown its pages."""
    return OK if found is None else _print_json({"format": f"handling-diagnose/{name}/1", **found})


def _demo(options: argparse.Namespace) -> int:
    from diagnose.screen.demo import demo

    demo(fast=options.fast)
    return OK


def _trials(options: argparse.Namespace) -> int:
    from functools import partial

    from diagnose.library.matching import known_complaint
    from diagnose.library.shelf import load
    from diagnose.model.story import Workshop
    from diagnose.screen.desk import console_for
    from diagnose.screen.trials import progress, trials_json, trials_page
    from diagnose.trials.run import batches, run
    from diagnose.trials.searches import SEARCHES
    from diagnose.trials.stats import summary

    library = _library(options)
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
        return _print_json(trials_json(found))
    console, look = console_for()
    console.print(trials_page(library, found, workshop.currency, look))
    return OK


def _learn(options: argparse.Namespace) -> int:
    return _learn_command.learn(options, _library(options), _read, _print_json)
