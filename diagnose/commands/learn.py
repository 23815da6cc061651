"""`diagnose learn`: a workshop's own figures from its closed jobs, as a layer that can be taken back."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from diagnose.errors import InputError
from diagnose.library.paths import standing

if TYPE_CHECKING:
    from diagnose.learn.figures import Learned
    from diagnose.learn.fit import Fit
    from diagnose.learn.history import Job
    from diagnose.learn.jobs import Taken
    from diagnose.learn.scores import Scores
    from diagnose.model.library import Library

__all__ = ["EXAMPLES", "LEARNED_FORMAT", "LEAST_JOBS", "add_arguments", "learn", "switch_back", "write_layer"]

LEARNED_FORMAT = "handling-diagnose/learned/1"

#: The end of `diagnose learn --help`.
EXAMPLES = """\
examples:
  diagnose learn                          from the closed jobs of the store
  diagnose learn closed-jobs/             from case files
  diagnose learn closed-jobs/ --with-jobs from both
  diagnose learn --write own-figures      keep what was learned, for --trees own-figures
  diagnose learn --back --write own-figures
                                          set it aside: all figures as shipped again
"""

#: Jobs with a known cause below which nothing is learned: fewer move no figure by more than its own doubt.
LEAST_JOBS = 20


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of the command."""
    parser.add_argument(
        "cases",
        metavar="CASES",
        nargs="*",
        type=Path,
        help="case files of closed jobs, or folders of them (without any: the closed jobs of the store)",
    )
    parser.add_argument(
        "--with-jobs", action="store_true", help="with CASES: from the closed jobs of the store as well"
    )
    parser.add_argument(
        "--hold-out",
        metavar="SHARE",
        type=_share,
        default=0.2,
        help="share of the jobs kept apart to score by (default: 0.2; 0: learn from all, no scores)",
    )
    parser.add_argument("--seed", type=_seed, default=1, help="the same seed keeps the same jobs apart")
    parser.add_argument(
        "--write", metavar="FOLDER", type=Path, help="write what was learned there, to be used with --trees"
    )
    parser.add_argument(
        "--back", action="store_true", help="with --write: set the figures learned there aside again"
    )
    parser.add_argument("--json", action="store_true", help="print the figures as JSON")


def _share(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 <= value <= 0.5:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a share to keep apart: write 0 to 0.5, such as 0.2"
        )
    return value


def _seed(text: str) -> int:
    if not text.isdigit() or len(text) > 9:
        raise argparse.ArgumentTypeError(f"{text!r} is not a seed: write a whole number such as 7")
    return int(text)


def learn(
    options: argparse.Namespace, library: Library, read: Callable[[str], bytes], say: Callable[[Any], int]
) -> int:
    """Carry out the command. read: a file's bytes; say: prints JSON. Raises InputError and the like."""
    from diagnose.learn.figures import learned, taken
    from diagnose.learn.fit import fit
    from diagnose.learn.history import split
    from diagnose.learn.predict import score
    from diagnose.screen.desk import console_for
    from diagnose.screen.learned import learned_page, store_page
    from diagnose.screen.trials import progress

    if options.back:
        return _back(options)
    if options.with_jobs and not options.cases:
        raise InputError("--with-jobs goes with case files; without any the store is learned from anyway")
    jobs = _jobs(options, library, read)
    taken_from = _from_store(options, library)
    kept, apart = split([*jobs, *(taken_from.jobs if taken_from else ())], options.hold_out, options.seed)
    _demand_enough(library, kept, options.hold_out, taken_from)
    with progress() as bar:
        rounds = bar.add_task("rounds", total=None)
        found = fit(library, kept, told=lambda *_: bar.advance(rounds))
    rows = learned(library, found)
    after = found.library(library, [row.key for row in rows if row.taken])
    before_scores, after_scores = (score(library, apart), score(after, apart)) if apart else (None, None)
    written: list[str] = []
    if options.write is not None:
        written = write_layer(options.write, getattr(options, "trees", None), taken(rows), found.jobs)
    if options.json:
        told = _as_json(found, rows, len(apart), before_scores, after_scores, written)
        return say({**told, "files": len(jobs), "store": _store_json(taken_from)})
    console, look = console_for()
    if taken_from is not None:
        console.print(store_page(len(jobs), taken_from.named, taken_from.left_out, look))
    console.print(learned_page(found, rows, len(apart), before_scores, after_scores, written, look))
    return 0


def _jobs(options: argparse.Namespace, library: Library, read: Callable[[str], bytes]) -> list[Job]:
    from diagnose.job.case import read_case
    from diagnose.learn.jobs import job_in

    files: list[Path] = []
    for path in options.cases:
        files += sorted(path.rglob("*.yaml")) if standing(path) == "folder" else [path]
    return [job_in(library, read_case(library, read(str(file)), str(file))) for file in files]


def _from_store(options: argparse.Namespace, library: Library) -> Taken | None:
    """The closed jobs of the store, where they are wanted."""
    if options.cases and not options.with_jobs:
        return None
    from diagnose.job.journal import Journal
    from diagnose.learn.jobs import jobs_of

    with Journal.open(getattr(options, "store", None)) as journal:
        return jobs_of(library, journal)


def _store_json(taken: Taken | None) -> dict[str, Any] | None:
    return None if taken is None else {"taken": taken.named, "left_out": taken.left_out}


def _demand_enough(library: Library, jobs: list[Job], held_out: float, store: Taken | None) -> None:
    from diagnose.learn.layer import OWN_JOBS

    if OWN_JOBS in library.sources:
        raise InputError(
            "figures learned before lie over these trees: leave out that --trees, so that no job counts twice"
        )
    known = sum(1 for job in jobs if job.label is not None and job.label.cured)
    if known < LEAST_JOBS:
        apart = f" (with {held_out:g} of the jobs kept apart to score by)" if held_out > 0.0 else ""
        text = (
            f"too few closed jobs to learn from: {known} with a confirmed cause{apart}, "
            f"{LEAST_JOBS} are wanted; below that the shipped figures are the better ones"
        )
        if store is not None:
            from diagnose.screen.learned import store_lines

            text = "\n  ".join([text, *store_lines(store.named, store.left_out)])
        raise InputError(text)


def write_layer(folder: Path, trees: list[Path] | None, values: Mapping[Any, float], jobs: int) -> list[str]:
    """Write the layer into a folder, in place of one written before; the names of its files.

    Raises InputError if a file there is not the program's own, or nothing was learned.
    """
    from diagnose.learn.layer import MARK, layer_files
    from diagnose.library.shelf import load, written

    if not values:
        raise InputError("nothing was learned that is worth writing: every figure stays as shipped")
    files = layer_files(written(trees), values, jobs)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name in files:
            path = folder / name
            if path.exists() and not _own(path, MARK):
                raise InputError(f"{path} was not written by `diagnose learn`: give another folder")
        for path in sorted(folder.glob("learned*.yaml")):
            if _own(path, MARK):
                path.unlink()
        for name, text in files.items():
            (folder / name).write_text(text, encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"{folder}: cannot be written ({error.strerror or error}); name another folder"
        ) from error
    load([*(trees or ()), folder], cache=False)  # refuses what the rules of trees refuse
    return [str(folder / name) for name in files]


def _own(path: Path, mark: str) -> bool:
    if standing(path) != "file":
        return False
    with path.open(encoding="utf-8", errors="replace") as stream:
        return stream.read(len(mark)) == mark


def _back(options: argparse.Namespace) -> int:
    from diagnose.screen.prose import tell

    if options.write is None:
        raise InputError("which learned figures? give their folder: diagnose learn --back --write FOLDER")
    names = switch_back(options.write)
    tell(f"Set aside: {', '.join(names)}. Without --trees {options.write} all figures are as shipped.")
    return 0


def switch_back(folder: Path) -> list[str]:
    """Set the learned layer of a folder aside, so that it is no longer read; the names that it has now.

    Raises InputError if there is none.
    """
    from diagnose.learn.layer import MARK

    try:
        files = [path for path in sorted(folder.glob("learned*.yaml")) if _own(path, MARK)]
        if not files:
            raise InputError(f"{folder} holds no figures that `diagnose learn` wrote: nothing to take back")
        return [path.replace(path.with_name(path.name + ".off")).name for path in files]
    except OSError as error:
        raise InputError(
            f"{folder}: cannot be changed ({error.strerror or error}); make it writable for you"
        ) from error


def _as_json(
    fit: Fit,
    rows: list[Learned],
    held_out: int,
    before: Scores | None,
    after: Scores | None,
    written: list[str],
) -> dict[str, Any]:
    from dataclasses import asdict

    return {
        "format": LEARNED_FORMAT,
        "jobs": fit.jobs,
        "held_out": held_out,
        "doubtful": fit.doubtful,
        "figures": [asdict(row) for row in rows],
        "before": None if before is None else asdict(before),
        "after": None if after is None else asdict(after),
        "written": written,
    }
