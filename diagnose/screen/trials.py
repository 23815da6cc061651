"""What the simulated trials come to, as pages and as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from rich.console import Group, RenderableType
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn
from rich.text import Text

from diagnose.choice.cost import UNSOLVED_HOURS
from diagnose.model.library import Library
from diagnose.screen.desk import Look
from diagnose.screen.narrow import Table
from diagnose.screen.pages import paragraph
from diagnose.trials.run import NOISY
from diagnose.trials.searches import OWN
from diagnose.trials.stats import Mean, Outcomes, Saving, Summary

__all__ = ["TRIALS_FORMAT", "progress", "trials_json", "trials_page"]

TRIALS_FORMAT = "handling-diagnose/trials/1"

#: Ways of searching as they are told in print.
WAYS = {
    OWN: "the program's own",
    NOISY: "own, figures off",
    "bits": "bits per minute",
    "ratio": "likelihood a minute",
    "likely": "likeliest first",
    "fixed": "cheap to dear",
}

#: The ways that the table of complaints sets the program against.
AGAINST = {"fixed": "cheap to dear", "bits": "bits"}


def progress() -> Progress:
    """A bar over the cars, on the error stream, so that results can be piped."""
    from rich.console import Console

    return Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        console=Console(stderr=True),
        transient=True,
    )


def trials_json(found: Summary) -> dict[str, Any]:
    """Everything that `diagnose trials --json` prints."""
    return {"format": TRIALS_FORMAT, **asdict(found)}


def trials_page(library: Library, found: Summary, currency: str, look: Look) -> RenderableType:
    """How each way of searching did over all cars, and the program complaint by complaint."""
    noise = f", figures off by {found.noise:g} in log odds" if found.noise > 0.0 else ""
    head = f"{found.cars} simulated cars {look.dot} seed {found.seed}{noise} {look.dot} cost in {currency}"
    lines: list[RenderableType] = [
        Text(head),
        Text(""),
        _ways(found.whole, look),
        paragraph(
            f"Cost: labour of looking and driving, sound parts renewed, {UNSOLVED_HOURS:g} hours for each "
            f"car handed on unsolved. Behind {_pm(look)}: 95 % interval. Saved: by the program, over the "
            "same cars. Wrong: sound parts renewed a car. First: cured by the first cure.",
            look,
            style="dim",
        ),
        Text(""),
        _complaints(library, found, look),
    ]
    return Group(*lines)


def _ways(whole: Mapping[str, Outcomes], look: Look) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="dim")
    table.add_column("searched by", no_wrap=True)
    for title in ("min", "cost", "checks", "wrong", "first", "cured", "saved"):
        table.add_column(title, justify="right", no_wrap=True)
    for name, title in WAYS.items():
        if name in whole:
            of = whole[name]
            table.add_row(
                title,
                f"{of.minutes.value:.0f}",
                _mean(of.cost, look),
                f"{of.checks.value:.1f}",
                f"{of.wrong.value:.2f}",
                _part(of.first),
                _part(of.cured),
                "" if name == OWN else _saving(of.saving, look),
            )
    return table


def _complaints(library: Library, found: Summary, look: Look) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="dim")
    table.add_column("complaint", ratio=1)
    for title in ("cars", "min", "cost", "first", "cured"):
        table.add_column(title, justify="right", no_wrap=True)
    against = {name: title for name, title in AGAINST.items() if name in found.whole}
    for title in against.values():
        table.add_column(title, justify="right", no_wrap=True)
    for complaint, ways in found.complaints.items():
        own = ways.get(OWN)
        if own is None:
            continue
        table.add_row(
            library.complaints[complaint].name,
            str(own.cars),
            f"{own.minutes.value:.0f}",
            _mean(own.cost, look),
            _part(own.first),
            _part(own.cured),
            *(_saving(ways[name].saving, look) for name in against),
        )
    return table


def _pm(look: Look) -> str:
    return "\u00b1" if look.unicode else "+/-"


def _mean(of: Mean, look: Look) -> str:
    return f"{of.value:.0f} {_pm(look)}{of.within:.0f}"


def _part(of: Mean) -> str:
    return f"{100.0 * of.value:.0f} %"


def _saving(of: Saving, look: Look) -> str:
    return f"{100.0 * of.part:.0f} {_pm(look)}{100.0 * of.within:.0f} %"
