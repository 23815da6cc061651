"""docs/vibration.md: its examples in Python are true. What its commands print: tests/unit/test_docs.py."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

from diagnose.shake import spread
from diagnose.shake.grades import GRADES, LEAST

TEXT = (Path(__file__).resolve().parents[3] / "docs" / "vibration.md").read_text("utf-8")


def test_the_examples_print_what_they_show() -> None:
    blocks = re.findall(r"^```python\n(.*?)^```$", TEXT, re.DOTALL | re.MULTILINE)
    test = doctest.DocTestParser().get_doctest("\n".join(blocks), {}, "vibration.md", None, 0)
    said: list[str] = []
    found = doctest.DocTestRunner(optionflags=doctest.REPORT_NDIFF).run(test, out=said.append)
    assert found.failed == 0, "".join(said)
    assert found.attempted >= 6


def test_the_errors_are_those_that_are_reckoned_with() -> None:
    (low, high), (slowest, fastest) = spread.ANY_TYRE, spread.ANY_RATIO
    rows = {
        "speed by satellite": f"{100 * spread.SATELLITE:g} %",
        "speed held": f"{100 * spread.HELD:g} %",
        "circumference measured": f"{100 * spread.MEASURED_TYRE:g} %",
        "tyre not known": f"{low:.2f} to {high:.2f} m",
        "tyre or speed other than typed": f"1 drive of {1 / spread.OTHERWISE:g}",
        "final drive": f"{100 * spread.WRITTEN_RATIO:g} %; not known: {slowest} to {fastest}",
        "engine speed": f"{100 * spread.RPM_SHARE:g} %",
        "frequency counted by hand": f"{100 * spread.COUNTED:g} %; above {spread.COUNTABLE:g} a second "
        f"{100 * spread.GUESSED:g} %",
        "resonance": f"{100 * spread.RESONANT:g} %",
        "reading of another peak": f"1 of {1 / spread.STRAY:g}",
    }
    for name, size in rows.items():
        (row,) = re.findall(rf"^\| {name} \|.*$", TEXT, re.MULTILINE)
        assert size in row, name
    for weight in GRADES["with the engine"][1].values():
        assert f"{weight:.2f}" in TEXT
    assert f"1/{1 / LEAST:.0f} of it" in TEXT
