"""docs/debrief.md says what the program does: its tables are held to the code."""

from __future__ import annotations

import re
from pathlib import Path

from diagnose.debrief import read, scatter
from diagnose.debrief.compare import SILENT, SILENT_SCATTER, UNRATED, UNRATED_SCATTER
from diagnose.debrief.drive import PRESSURES, REFERENCES, ROADS
from diagnose.debrief.route import ROUTE
from diagnose.debrief.scale import CONTROL_SHIFT, WORDS, answer
from diagnose.debrief.scatter import as_often, scatter_of
from tests.drives import AFTER, DEMO, drive_in, drive_of

PAGE = (Path(__file__).resolve().parents[3] / "docs" / "debrief.md").read_text("utf-8")


def rows(head: str) -> list[list[str]]:
    """The rows of the table below this header, as cells."""
    table = PAGE[PAGE.index(head) :].partition("\n\n")[0].splitlines()[2:]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in table]


def test_every_key_and_word_of_the_file_is_named() -> None:
    keys = {*read.SHAPE.keys, *read._LEG.keys, *read._NOTICED.keys}
    words = {*PRESSURES, *ROADS, *REFERENCES, *ROUTE}
    assert {word for word in keys | words if f"`{word}`" not in PAGE} == set()


def test_the_kinds_of_leg() -> None:
    wanted = [
        [f"`{kind.id}`", kind.name, f"{kind.low:g}-{kind.high:g}", kind.surface, kind.manoeuvre]
        for kind in ROUTE.values()
    ]
    assert rows("| kind | leg |") == wanted


def test_the_scale_and_how_surely_it_is_felt() -> None:
    found = rows("| rating | disturbance |")
    for rating, one, other, felt, control in found:
        value = float(rating)
        assert (one, other) == (WORDS[int(value)] if value.is_integer() else ("", ""))
        assert (felt, control) == (answer(value), answer(value, control=True))
    assert " ".join(row[0] for row in found) == "10 9.5 9 8.5 8 7.5 7 6.5 6 5 4 3 2 1"
    assert "at second hand" in PAGE and "the standard itself was not seen" in " ".join(PAGE.split())


def test_the_figures_of_the_scatter() -> None:
    found = {row[0]: row[1] for row in rows("| cause | points |")}
    assert list(found.values()) == [
        str(scatter.REPEAT),
        str(scatter.OTHER_DRIVER),
        str(scatter.DRIVER_UNKNOWN),
        str(scatter.PRESSURES_OPEN),
        f"{scatter.ROAD['damp']}, {scatter.ROAD['wet']}",
        str(scatter.NO_REFERENCE),
        str(scatter.OTHER_LOAD),
        str(scatter.LEG_OTHERWISE),
        str(scatter.OTHER_CAR),
        f"{SILENT_SCATTER}, stands for {SILENT} (control: {SILENT - CONTROL_SHIFT})",
        f"{UNRATED_SCATTER}, *yes* stands for {UNRATED['yes']:g}",
    ]
    deviation = scatter_of(drive_of(), drive_of()).deviation
    told = re.search(
        r"deviation of ([\d.]+) points; of 100 such pairs (\d+) differ .*?, (\d+) by .*?, (\d+) by",
        PAGE.replace("\n", " "),
    )
    assert told is not None
    assert told[1] == f"{deviation:.2f}"
    assert [int(each) for each in told.groups()[1:]] == [
        round(100 * as_often(points, deviation)) for points in (1.0, 1.5, 2.0)
    ]


def test_the_drives_of_these_tests_are_marked_demo() -> None:
    for text in (DEMO, AFTER):
        assert drive_in(text).car == "demo hatchback, invented"
    assert PAGE.count("demo hatchback, invented") >= 4
