"""The workshop's profile as it is shown: what is to be had, what is not, and what an hour costs."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from rich.console import Group, RenderableType
from rich.text import Text

from diagnose.choice.cost import possible
from diagnose.model.library import Library
from diagnose.model.story import Workshop
from diagnose.screen.desk import Look
from diagnose.screen.narrow import Table
from diagnose.screen.pages import paragraph
from diagnose.units import plain

__all__ = ["labour_line", "lack_line", "lack_name", "lacks", "workshop_json", "workshop_page"]


def labour_line(workshop: Workshop) -> str:
    """What an hour costs, as a sentence."""
    return f"Labour costs {plain(workshop.labour_rate)} {workshop.currency} an hour."


def lack_name(library: Library, what: str) -> str:
    """The name of a set-up, tool or check."""
    if what in library.set_ups:
        return library.set_ups[what].name
    return library.tools.get(what) or (library.checks[what].name if what in library.checks else what)


def lack_line(library: Library, workshop: Workshop) -> str:
    """What is not to be had, as a sentence."""
    return f"Not to be had: {lacks(library, workshop)}." if workshop.cannot else "Everything is to be had."


def lacks(library: Library, workshop: Workshop) -> str:
    """The ids of what is not to be had, in the order of the library, with commas."""
    # A set-up and a tool may share an id: then both are lacking, and it stands once.
    order = dict.fromkeys([*library.set_ups, *library.tools, *library.checks])
    return ", ".join(each for each in order if each in workshop.cannot)


def _tables(library: Library) -> dict[str, Mapping[str, str]]:
    set_ups = {each.id: each.name for each in library.set_ups.values()}
    return {"set-up": set_ups, "tool": library.tools}


def _out_of_reach(library: Library, workshop: Workshop) -> int:
    return sum(not possible(check, workshop) for check in library.checks.values())


def workshop_page(library: Library, workshop: Workshop, kept: bool, look: Look) -> RenderableType:
    """The whole profile, for the name of its file to follow where it is kept.

    What matters most stands last, for the list may be longer than the screen.
    """
    lines: list[RenderableType] = []
    for title, rows in _tables(library).items():
        table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="dim")
        table.add_column("here", width=len("has not"))
        table.add_column(title, no_wrap=True)
        table.add_column("", ratio=1)
        for name, words in rows.items():
            missing = name in workshop.cannot
            here = Text("has not", style="bold") if missing else Text("has", style="dim")
            table.add_row(here, name, words)
        lines += [table, Text("")]
    lines.append(paragraph(labour_line(workshop), look, 0, "bold"))
    lines.append(paragraph(lack_line(library, workshop), look, 0, "bold"))
    if workshop.cannot:
        out = f"{_out_of_reach(library, workshop)} of {len(library.checks)} checks"
        lines.append(paragraph(f"For want of that, {out} are never proposed.", look, 0))
    if kept:
        lines.append(paragraph("New jobs begin with this. It is kept in:", look, 0, "dim"))
    else:
        told = "Nothing has been told of this workshop: these are the defaults. To tell, for example: "
        command = "`diagnose workshop --labour-rate 95 --currency EUR --lacks rig`"
        lines.append(paragraph(told + command, look, 0, "dim"))
    return Group(*lines)


def workshop_json(library: Library, workshop: Workshop, file: Path, kept: bool) -> dict[str, Any]:
    """The profile as plain values; docs/json.md documents every key."""
    set_ups, tools = (
        [{"id": name, "name": words, "has": name not in workshop.cannot} for name, words in rows.items()]
        for rows in _tables(library).values()
    )
    return {
        "file": str(file),
        "kept": kept,
        "labour_rate": workshop.labour_rate,
        "currency": workshop.currency,
        "set_ups": set_ups,
        "tools": tools,
        "checks": len(library.checks),
        "out_of_reach": _out_of_reach(library, workshop),
    }
