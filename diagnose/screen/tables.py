"""Lists: rows of the library, jobs in the store, cases measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import is_dataclass
from typing import Any

from rich.console import Group, RenderableType
from rich.text import Text

from diagnose.choice.influence import Idle, Weighed
from diagnose.errors import InputError, Place
from diagnose.library.nearest import suggest
from diagnose.measure import Measured, Summary, summary
from diagnose.model.library import Library, Remedy
from diagnose.model.work import access_hours, opened, units
from diagnose.screen.desk import Look
from diagnose.screen.narrow import Table
from diagnose.screen.pages import paragraph
from diagnose.units import minutes
from diagnose.words import of_100

__all__ = [
    "find_row",
    "idle_json",
    "idle_page",
    "listing",
    "listing_page",
    "measured_page",
    "row_page",
    "sums_page",
    "weighed_json",
    "weighed_page",
]


#: Columns from which a list of remedies says what they open and cover as well.
WIDE = 140


def _plain(value: Any) -> Any:
    """A model value as JSON: places of the source text are left out."""
    if is_dataclass(value) and not isinstance(value, type):
        return {
            key.replace("_", "-"): _plain(each)
            for key, each in _fields(value).items()
            if not isinstance(each, Place)
        }
    if isinstance(value, dict):
        return {str(key): _plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    return value


def _fields(value: Any) -> dict[str, Any]:
    return {name: getattr(value, name) for name in value.__dataclass_fields__}


def listing(library: Library, what: str) -> list[dict[str, Any]]:
    """The rows of one kind, each with at least `id` and `name`."""
    if what == "complaints":
        return [
            {
                "id": c.id,
                "name": c.name,
                "about": c.about,
                "area": c.area or None,
                "says": list(c.says),
                "sided": c.sided,
                "leak": c.top.leak,
            }
            for complaints in library.by_area().values()
            for c in complaints
        ]
    if what == "causes":
        return [
            {
                "id": f.id,
                "name": f"{library.parts[f.part].name}: {f.name}",
                "part": f.part,
                "where": f.where,
                "prior": f.prior(None, None),
                "remedy": f.remedy,
                "danger": f.danger or None,
                "source": list(f.source),
            }
            for f in library.faults.values()
        ]
    if what == "checks":
        return [
            {
                "id": c.id,
                "name": c.name,
                "set-up": c.set_up,
                "minutes": c.minutes,
                "findings": [f.partition("/")[2] for f in c.findings],
            }
            for c in library.checks.values()
        ]
    if what == "remedies":
        return [
            {
                "id": r.id,
                "name": r.name,
                "per": r.per,
                "hours": r.hours,
                "parts": r.parts,
                "access": list(r.access),
                "covers": list(r.covers),
            }
            for r in library.remedies.values()
        ]
    table = {"parts": library.parts, "conditions": library.conditions, "sources": library.sources}[what]
    rows: list[dict[str, Any]] = [_plain(row) for row in table.values()]
    return rows


def listing_page(
    what: str, rows: Sequence[dict[str, Any]], look: Look, areas: Mapping[str, str] | None = None
) -> RenderableType:
    """The rows as a table: id, name, and what decides between them.

    areas: id -> name of the areas by which complaints are listed.
    """
    table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="dim")
    # An id is there to be copied: it is never cut.
    table.add_column("id", no_wrap=True)
    table.add_column("name", ratio=1)
    extra = {"causes": "prior", "checks": "minutes", "remedies": "hours"}.get(what)
    if extra:
        table.add_column(extra, justify="right", no_wrap=True)
    wide = ("access", "covers") if what == "remedies" and look.width >= WIDE else ()
    for title in wide:
        table.add_column(title, ratio=1)
    area = None
    for row in rows:
        if areas and row.get("area") != area:
            area = row.get("area")
            table.add_row(Text(areas.get(area or "", "other"), style="bold"), "")
        value = row.get(extra) if extra else None
        shown = f"{value:.2g}" if isinstance(value, float) else str(value)
        name = f"{row['name']}: {row['about']}" if row.get("about") else row["name"]
        table.add_row(row["id"], name, *([shown] if extra else []), *(", ".join(row[key]) for key in wide))
    return Group(table, Text(f"{len(rows)} {what}", style="dim"))


def find_row(library: Library, name: str) -> dict[str, Any]:
    """The row with that id, whatever its kind: `kind`, and the row as plain values.

    Raises InputError with the nearest id if there is none.
    """
    tables: dict[str, Any] = {
        "complaint": library.complaints,
        "mechanism": library.mechanisms,
        "cause": library.faults,
        "part": library.parts,
        "check": library.checks,
        "remedy": library.remedies,
        "access": library.access,
        "condition": library.conditions,
        "source": library.sources,
    }
    for kind, table in tables.items():
        if name in table:
            row = _plain(table[name])
            if kind == "mechanism":
                row["gate"] = row.pop("kind")
            if kind == "check":
                row["findings"] = [_plain(library.findings[f]) for f in library.checks[name].findings]
            if kind == "remedy":
                row["access-hours"] = max(_hours_of_access(library, table[name]), default=0.0)
            if kind == "access":
                row["remedies"] = [r.id for r in library.remedies.values() if name in _opens(library, r)]
            if kind == "part":
                row["faults"] = [_plain(f) for f in library.faults.values() if f.part == name]
            return {"kind": kind, **row}
    every = [each for table in tables.values() for each in table]
    raise InputError(f"nothing has the id {name!r}: {suggest(name, every, '`diagnose trees` lists them')}")


def _hours_of_access(library: Library, remedy: Remedy) -> list[float]:
    """Hours of access at every place of the remedy."""
    return [round(access_hours(library, opened(library, remedy, at)), 12) for at in units(library, remedy)]


def _opens(library: Library, remedy: Remedy) -> set[str]:
    """Every access that the remedy needs, with what it is within."""
    return {name for at in units(library, remedy) for name, _ in opened(library, remedy, at)}


def row_page(library: Library, row: dict[str, Any], look: Look) -> RenderableType:
    """A row with its figures, and its sources by name."""
    lines: list[RenderableType] = [Text(f"{row['kind']} {row['id']}", style="bold")]
    _describe(library, {k: v for k, v in row.items() if k not in ("kind", "id")}, look, 2, lines)
    return Group(*lines)


def _describe(
    library: Library, row: dict[str, Any], look: Look, indent: int, lines: list[RenderableType]
) -> None:
    for key, value in row.items():
        if value in (None, "", [], {}, ()):
            continue
        if key == "inspection":
            when = row["inspection-when"]
            fails = f"{key}: fails under item {value} of Directive 2014/45/EU, Annex I"
            lines.append(paragraph(f"{fails}, when {when}" if when else fails, look, indent))
        elif key == "inspection-when":
            continue
        elif key == "source":
            names = [_source(library, each) for each in value]
            lines.append(paragraph(f"source: {'; '.join(names)}", look, indent, "dim"))
        elif isinstance(value, dict):
            lines.append(paragraph(f"{key}:", look, indent))
            _describe(library, value, look, indent + 2, lines)
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            lines.append(paragraph(f"{key}:", look, indent))
            for each in value:
                head = (
                    each.get("id") or each.get("fault") or each.get("target") or each.get("mechanism") or ""
                )
                lines.append(paragraph(f"- {head}", look, indent + 2, "bold"))
                rest = {k: v for k, v in each.items() if v != head}
                _describe(library, rest, look, indent + 4, lines)
        else:
            shown = ", ".join(str(each) for each in value) if isinstance(value, list) else str(value)
            lines.append(paragraph(f"{key}: {shown}", look, indent))


def _source(library: Library, name: str) -> str:
    source = library.sources.get(name)
    if source is None:
        return name.replace("-", " ")
    note = f" ({source.note})" if source.note else ""
    return f"{source.name}{note}{' ' + source.url if source.url else ''}"


def weighed_json(one: Weighed) -> dict[str, Any]:
    """A weighed complaint as plain values."""
    return {
        "complaint": one.complaint,
        "suspects": [{"id": cause, "to_blame": round(p, 12)} for cause, p in one.suspects],
        "outside": round(one.outside, 12),
        "questions": [
            {"check": check, "finding": found.finding, "moves": round(found.points, 12), "most": found.cause}
            for check, found in one.questions
        ],
    }


def weighed_page(library: Library, one: Weighed, look: Look, most: int = 12) -> RenderableType:
    """A complaint by itself: whom it suspects, and how far each of its questions moves that."""
    lines: list[RenderableType] = [Text(library.complaints[one.complaint].name, style="bold"), Text("")]
    table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="dim")
    table.add_column("to blame, of 100 cars", justify="right")
    table.add_column("")
    for cause, p in one.suspects[:most]:
        table.add_row(of_100(p), cause)
    rest = max(len(one.suspects) - most, 0)
    table.add_row(of_100(one.outside), "something not listed here")
    lines.append(table)
    if rest:
        lines.append(Text(f"and {rest} more suspects", style="dim"))
    asked = Table(box=None, pad_edge=False, padding=(0, 1), header_style="dim")
    asked.add_column("moves", justify="right")
    asked.add_column("question")
    asked.add_column("most of all")
    for check, found in one.questions:
        asked.add_row(of_100(found.points), check, found.cause)
    return Group(*lines, Text(""), asked)


def idle_json(idle: Idle) -> dict[str, Any]:
    """What moves nothing, as plain values."""
    return {
        "questions": [
            {"complaint": complaint, "check": check, "moves": round(found.points, 12)}
            for complaint, check, found in idle.questions
        ],
        "findings": [
            {"finding": found.finding, "complaint": found.complaint or None, "moves": round(found.points, 12)}
            for found in idle.findings
        ],
    }


def idle_page(library: Library, idle: Idle, look: Look) -> RenderableType:
    """What moves nothing that matters, with what to do about it."""
    lines: list[RenderableType] = []
    for complaint, check, found in idle.questions:
        moved = f"moves {of_100(found.points)} of 100 cars at most"
        lines.append(paragraph(f"question {check} of {complaint}: {moved}", look))
    for each in idle.findings:
        where = f", in {each.complaint}" if each.complaint else ""
        lines.append(
            paragraph(f"finding {each.finding}: moves {of_100(each.points)} of 100 cars at most{where}", look)
        )
    if lines:
        lines.append(Text(""))
        mend = "Cut them, or give them figures that tell one cause from another."
        lines.append(paragraph(mend, look))
    else:
        lines.append(paragraph("Every question and every finding can move a ranking.", look))
    return Group(*lines)


def measured_page(results: Sequence[Measured], look: Look) -> RenderableType:
    """Ranks and simulated minutes of each case, and what they come to together."""
    table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="dim")
    for title in ("case", "complaint"):
        table.add_column(title)
    for title in ("told", "before", "all", "of", "walk"):
        table.add_column(title, justify="right", no_wrap=True)
    table.add_column("confirmed", ratio=1)
    for each in results:
        walk = "-"
        if each.walk is not None:
            walk = minutes(each.walk.minutes) if each.walk.found else f"not in {minutes(each.walk.minutes)}"
        table.add_row(
            each.case,
            each.complaint,
            *(str(rank) if rank else "-" for rank in (each.rank_told, each.rank_before, each.rank_all)),
            str(each.of),
            walk,
            "; ".join((*each.confirmed, *(f"not in the trees: {missing}" for missing in each.missing))),
        )
    return Group(table, Text(""), *sums_page(summary(results)))


#: Ways of knowing and orders of looking, as they are told in print.
WAYS = {"told": "told only", "before": "before the telling check", "all": "everything known"}
ORDERS = {
    "own": "what the program proposes",
    "ratio": "likelihood over minutes",
    "fixed": "every check, cheap to dear",
    "parts": "parts renewed by likelihood",
}


def sums_page(sums: Summary) -> list[RenderableType]:
    """What all cases come to: ranks, and minutes in the program's order and in plain ones."""
    lines: list[RenderableType] = []
    for way, title in WAYS.items():
        shares = f"first in {sums.first[way]}, among the first three in {sums.three[way]}"
        lines.append(Text(f"{title}: {shares}, of {sums.cases} cases"))
    if sums.orders:
        table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="dim")
        table.add_column("simulated walk, until the cause stood first")
        for title in ("found", "median", "longest", "set-ups", "slower"):
            table.add_column(title, justify="right", no_wrap=True)
        for name, title in ORDERS.items():
            order = sums.orders.get(name)
            if order is not None:
                table.add_row(
                    title,
                    f"{order.found} of {sums.listed}",
                    minutes(order.minutes),
                    minutes(order.longest),
                    f"{order.set_ups:g}",
                    f"{order.slower:.1f}x",
                )
        lines += [Text(""), table]
    return lines
