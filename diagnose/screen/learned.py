"""What was learned from closed jobs, as a page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from diagnose.learn.figures import ENOUGH_EVENTS, Learned
from diagnose.learn.fit import Fit
from diagnose.learn.scores import Scores
from diagnose.screen.desk import Look
from diagnose.screen.narrow import Table
from diagnose.screen.pages import paragraph

__all__ = ["learned_page", "store_lines", "store_page"]

#: Jobs kept apart below which two scores may differ by luck alone.
FEW_APART = 30


#: Jobs named one by one in a line; the rest are counted.
NAMED = 6


def store_lines(named: Mapping[str, str], left_out: Mapping[str, str]) -> list[str]:
    """How many jobs of the store were taken as what, and which were left out and why."""
    lines = []
    for title, told in (("taken", named), ("left out", left_out)):
        for words in dict.fromkeys(told.values()):
            jobs = [job for job, each in told.items() if each == words]
            more = f" and {len(jobs) - NAMED} more" if len(jobs) > NAMED else ""
            lines.append(f"{len(jobs)} {title}, {words}: {', '.join(jobs[:NAMED])}{more}")
    return lines or ["the store holds no jobs"]


def store_page(
    files: int, named: Mapping[str, str], left_out: Mapping[str, str], look: Look
) -> RenderableType:
    """What the store gave to learn from."""
    beside = f", beside {_count(files, 'case file')}" if files else ""
    lines: list[RenderableType] = [Text(f"From the store: {_count(len(named), 'job')}{beside}")]
    lines += [paragraph(line, look) for line in store_lines(named, left_out)]
    return Group(*lines)


def learned_page(
    fit: Fit,
    rows: Sequence[Learned],
    held_out: int,
    before: Scores | None,
    after: Scores | None,
    written: Sequence[str],
    look: Look,
) -> RenderableType:
    """The changed figures, the scores before and after, and what there is too little data for."""
    changed = [row for row in rows if row.taken]
    few = sum(1 for row in rows if row.events < ENOUGH_EVENTS)
    apart = f" {look.dot} {held_out} kept apart" if held_out else ""
    lines: list[RenderableType] = [Text(f"Learned from {fit.jobs} closed jobs{apart}"), Text("")]
    lines += [_figures(changed), Text("")] if changed else []
    lines.append(
        paragraph(
            f"{_count(len(changed), 'figure')} changed. Of {few} of the {len(rows)} that the jobs have to do "
            f"with there is too little data (less than {ENOUGH_EVENTS:g} sighting's worth): they stay. "
            "95 %: credible interval, if all that is not learned is right.",
            look,
            style="dim",
        )
    )
    if fit.doubtful:
        lines.append(
            paragraph(
                f"{_count(fit.doubtful, 'job')} with a confirmed cause that hardly fits the rest of the job: "
                "it counts little. Look whether it was entered right.",
                look,
            )
        )
    if before is not None and after is not None:
        lines += [Text(""), _scores(before, after), Text(""), _verdict(before, after, held_out, look)]
    elif held_out:
        lines += [Text(""), Text("No job that was kept apart has a confirmed cause: nothing to score by.")]
    if written:
        lines += [Text(""), paragraph(f"Written: {', '.join(written)}. Use with --trees.", look)]
    elif changed:
        lines += [Text(""), Text("Nothing was written: --write FOLDER keeps these figures.")]
    return Group(*lines)


def _figures(rows: Sequence[Learned]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="dim")
    table.add_column("figure", ratio=1)
    for title in ("shipped", "learned", "95 %", "cases"):
        table.add_column(title, justify="right", no_wrap=True)
    for row in rows:
        name = f"{row.key.kind} {row.key.row}" + (f" < {row.key.target}" if row.key.target else "")
        interval = f"{_value(row.low, row.unit)} to {_value(row.high, row.unit)}"
        shipped, now = _value(row.shipped, row.unit), _value(row.learned, row.unit)
        table.add_row(
            name + (f", {row.unit}" if row.unit else ""), shipped, now, interval, f"{row.cases:.0f}"
        )
    return table


def _value(value: float, unit: str) -> str:
    if unit == "km":
        return f"{value / 1000.0:.0f}k" if value < 1e7 else ">9999k"
    return f"{value:.1f}" if unit else f"{value:.3f}"


def _scores(before: Scores, after: Scores) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="dim")
    table.add_column("on the jobs kept apart", no_wrap=True)
    for title in ("shipped", "learned"):
        table.add_column(title, justify="right", no_wrap=True)
    table.add_row("Brier score (0 best)", f"{before.brier:.4f}", f"{after.brier:.4f}")
    table.add_row("log score (0 best)", f"{before.log:.4f}", f"{after.log:.4f}")
    table.add_row("calibration error", f"{before.error:.4f}", f"{after.error:.4f}")
    return table


def _verdict(before: Scores, after: Scores, held_out: int, look: Look) -> RenderableType:
    better = after.brier < before.brier
    words = "The learned figures do better" if better else "The learned figures do no better: do not use them"
    few = f" {_count(held_out, 'job')} kept apart are few: it may be luck." if held_out < FEW_APART else ""
    return paragraph(f"{words} on these jobs.{few}", look)


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
