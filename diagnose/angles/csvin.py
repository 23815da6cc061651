"""A wheel-angle sheet as CSV: one value a row, with a header in any order; to the named texts of `entries`.

    when,axle,side,angle,value,low,high,adjustable
    before,front,left,camber,-1°25',-1°20',0°20',no

Separated by commas, or by semicolons so that decimals may have a comma. Lines that begin with # are remarks.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from diagnose.angles.entries import is_blank
from diagnose.angles.sheet import AXLES, FRONT_LAYOUTS, REAR_LAYOUTS, SIDES, SPECIFIED, UNITS
from diagnose.errors import Place, Problem
from diagnose.library.nearest import suggest
from diagnose.library.text import Scalar

__all__ = ["COLUMNS", "csv_entries", "looks_like_csv"]

#: The columns; those of `NEEDED` must be there.
COLUMNS = (
    "when",
    "axle",
    "side",
    "angle",
    "value",
    "low",
    "high",
    "adjustable",
    "nominal",
    "tolerance",
    "cross",
)
NEEDED = ("angle", "value")

#: After so many problems the rest of a file is not read.
MOST = 100

#: What a row may be called, and whether it has an axle and a side.
WHEEL = ("camber", "caster", "inclination", "included", "toe", "height")
AXLE = ("total-toe", "set-back", "thrust")
CAR = {"name": "car/name", "wheelbase": "car/wheelbase", "toe-at": "toe-at", "units": "units"}
OF_AXLE = {"track": "car/{}-track", "layout": "car/{}"}
ANGLES = (*WHEEL, *AXLE, "rim", *CAR, *OF_AXLE)

_LIMITS = ("low", "high", "nominal", "tolerance", "cross", "adjustable")


def looks_like_csv(text: str) -> bool:
    """True if the first line that is no remark is a header with the columns that are needed."""
    for line in text.splitlines():
        if line.strip() and not line.startswith("#"):
            names = {name.strip().strip('"').lower() for name in line.replace(";", ",").split(",")}
            return set(NEEDED) <= names
    return False


def csv_entries(text: str, file: str, problems: list[Problem]) -> dict[str, Scalar]:
    """The texts of the file by their names; what is wrong with it is added to `problems`."""
    return _Csv(file, problems).entries(text)


class _Csv:
    def __init__(self, file: str, problems: list[Problem]) -> None:
        self.file = file
        self.problems = problems
        self.found: dict[str, Scalar] = {}

    def entries(self, text: str) -> dict[str, Scalar]:
        header: list[str] = []
        separator = ","
        for number, line in enumerate(text.split("\n"), start=1):
            line = line.rstrip("\r")
            if not line.strip() or line.lstrip().startswith("#"):
                continue
            if not header:
                separator = ";" if line.count(";") >= max(line.count(","), 1) else ","
                cells = self._cells(line, number, separator)
                header = self._header(cells)
                if not header:
                    return self.found
                continue
            cells = self._cells(line, number, separator)
            if len(cells) > len(header) and any(cell.text.strip() for cell in cells[len(header) :]):
                extra = cells[len(header)]
                wrong = f"this row has {len(cells)} values, the header has {len(header)}"
                mend = "quote a value that holds the separator, or separate by semicolons throughout"
                self.problems.append(extra.problem(wrong, mend))
                continue
            if len(self.problems) >= MOST:
                wrong, mend = (
                    f"there are {MOST} problems above this line",
                    "mend those first; the rest is not read",
                )
                self.problems.append(Problem(Place(self.file, number, 1), wrong, mend))
                break
            if not self._is_split_decimal(header, cells, separator):
                self._row(dict(zip(header, cells, strict=False)))
        if not header:
            mend = f"begin with the line {','.join(COLUMNS[:8])}"
            self.problems.append(Problem(Place(self.file), "the file has no header", mend))
        return self.found

    def _is_split_decimal(self, header: list[str], cells: list[Scalar], separator: str) -> bool:
        """True for a row too short for its header in which a decimal comma was taken for a separator."""
        if separator != "," or len(cells) >= len(header):
            return False
        for one, other in pairwise(cells):
            if re.fullmatch(r"[-+−]?\d{1,3}", one.text) and re.fullmatch(r"\d{1,3}", other.text):
                wrong = f"'{one.text},{other.text}' has a comma, and the file is separated by commas"
                mend = f"write {one.text}.{other.text}, or separate by semicolons throughout"
                self.problems.append(one.problem(wrong, mend))
                return True
        return False

    def _cells(self, line: str, number: int, separator: str) -> list[Scalar]:
        """The cells of a line, each with its place."""
        cells, start = [], 0
        for text, end in self._split(line, number, separator):
            place = Place(self.file, number, start + 1)
            cells.append(Scalar(place, max(len(line[start:end].strip()), 1), line, text.strip()))
            start = end + 1
        return cells

    def _split(self, line: str, number: int, separator: str) -> Iterator[tuple[str, int]]:
        """Each cell without its quotes, and where it ends."""
        at = 0
        while at <= len(line):
            start = at
            while line[start : start + 1] == " ":
                start += 1
            quoted = self._quoted(line, start, separator) if line[start : start + 1] == '"' else None
            if quoted is None:
                end = line.find(separator, at)
                end = len(line) if end < 0 else end
                yield line[at:end], end
            else:
                text, end = quoted
                yield text, end
            at = end + 1

    @staticmethod
    def _quoted(line: str, at: int, separator: str) -> tuple[str, int] | None:
        """A cell that opens with a quote at `at`, and where it ends; None if it does not close."""
        letters: list[str] = []
        n = at + 1
        while n < len(line):
            if line[n] == '"':
                if line[n + 1 : n + 2] != '"':
                    end = line.find(separator, n)
                    end = len(line) if end < 0 else end
                    return ("".join(letters), end) if not line[n + 1 : end].strip() else None
                n += 1
            letters.append(line[n])
            n += 1
        return None

    def _header(self, cells: list[Scalar]) -> list[str]:
        names, wrong = [], False
        for cell in cells:
            name = cell.text.lower()
            if name not in COLUMNS:
                mend = suggest(name, COLUMNS, f"the columns are: {', '.join(COLUMNS)}")
                self.problems.append(cell.problem(f"there is no column {cell.text!r}", mend))
                wrong = True
            elif name in names:
                self.problems.append(
                    cell.problem(f"the column {name!r} stands here twice", "keep one of the two")
                )
                wrong = True
            names.append(name)
        missing = [name for name in NEEDED if name not in names]
        if missing and not wrong:
            mend = f"begin with the line {','.join(COLUMNS[:8])}"
            self.problems.append(cells[0].problem(f"the header has no column {missing[0]!r}", mend))
        return [] if wrong or missing else names

    def _row(self, row: dict[str, Scalar]) -> None:
        angle = row.get("angle")
        if angle is None or not angle.text:
            at = angle or next(iter(row.values()))
            self.problems.append(
                at.problem("this row does not say which angle", f"write one of: {', '.join(ANGLES)}")
            )
            return
        name = angle.text.lower()
        if name not in ANGLES:
            mend = suggest(name, ANGLES, f"write one of: {', '.join(ANGLES)}")
            self.problems.append(angle.problem(f"there is no angle {angle.text!r}", mend))
            return
        when = self._word(row, "when", ("before", "after")) or "before"
        axle = self._word(row, "axle", AXLES) or ("rear" if name == "thrust" else "")
        side = self._word(row, "side", SIDES)
        if not axle and (name in WHEEL or name in AXLE or name in OF_AXLE):
            self._demand(row, "axle", name, AXLES)
            return
        value = row.get("value")
        if name in CAR or name in OF_AXLE:
            if value is not None and self._is_word(name, axle, value):
                self._keep(CAR.get(name) or OF_AXLE[name].format(axle), value)
            return
        if name in WHEEL and not side and value is not None and not is_blank(value.text):
            self._demand(row, "side", name, SIDES)
        elif value is not None and (name not in WHEEL or side):
            place = {"rim": "rim"}.get(name) or "/".join(
                each for each in (axle, side if name in WHEEL else "", name) if each
            )
            self._keep(f"{when}/{place}", value)
        for key in _LIMITS:
            if key in row and not is_blank(row[key].text):
                self._limit(f"specification/{axle}/{name}/{key}", row[key], name in SPECIFIED.get(axle, ()))

    def _is_word(self, name: str, axle: str, value: Scalar) -> bool:
        """True unless the value must be one of a few words and is not; then it is told."""
        words: tuple[str, ...] = ()
        if name == "layout":
            words = FRONT_LAYOUTS if axle == "front" else REAR_LAYOUTS
        elif name == "units":
            words = UNITS
        if not words or is_blank(value.text) or value.text in words:
            return True
        mend = suggest(value.text, words, f"write one of: {', '.join(words)}")
        self.problems.append(value.problem(f"'{name}' cannot be {value.text!r}", mend))
        return False

    def _word(self, row: dict[str, Scalar], key: str, words: tuple[str, ...]) -> str:
        cell = row.get(key)
        if cell is None or is_blank(cell.text):
            return ""
        if cell.text.lower() not in words:
            self.problems.append(
                cell.problem(
                    f"{key!r} must be {' or '.join(words)}, not {cell.text!r}", f"write {' or '.join(words)}"
                )
            )
            return ""
        return cell.text.lower()

    def _demand(self, row: dict[str, Scalar], key: str, name: str, words: tuple[str, ...]) -> None:
        at = row.get(key) or row["angle"]
        if any(problem.place == at.place for problem in self.problems):
            return  # what stands there has been told already
        self.problems.append(
            at.problem(f"{name} needs {key!r}", f"write {' or '.join(words)} in the column {key!r}")
        )

    def _keep(self, name: str, cell: Scalar) -> None:
        """Keep a value; the same place may be filled once."""
        first = self.found.get(name)
        if first is not None and not is_blank(cell.text) and not is_blank(first.text):
            wrong = f"{name.replace('/', ' ')} stands here again, first in line {first.place.line}"
            self.problems.append(cell.problem(wrong, "keep one of the two"))
        elif first is None or is_blank(first.text):
            self.found[name] = cell

    def _limit(self, name: str, cell: Scalar, known: bool) -> None:
        """Keep a limit; rows of left, right, before and after may repeat it but not contradict it."""
        _, axle, angle, key = name.split("/")
        if not known:
            wrong = f"there are no limits for {angle}{' at the ' + axle + ' axle' if axle else ''}"
            self.problems.append(cell.problem(wrong, "leave the columns of limits blank in this row"))
            return
        if key == "adjustable" and cell.text.lower() not in ("yes", "no"):
            self.problems.append(
                cell.problem(f"'adjustable' must be yes or no, not {cell.text!r}", "write yes or no")
            )
            return
        first = self.found.get(name)
        if first is not None and first.text.lower() != cell.text.lower():
            wrong = f"{key} of {axle} {angle} is {first.text!r} in line {first.place.line}, and another here"
            self.problems.append(cell.problem(wrong, "let both rows say the same, or leave one blank"))
        elif first is None:
            self.found[name] = cell
