"""docs/geometry.md: its examples are true, and it names all that the room offers."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

import pytest

from diagnose import geometry

PAGE = Path(__file__).resolve().parents[3] / "docs" / "geometry.md"
BLOCKS = re.findall(r"^```python\n(.*?)^```$", PAGE.read_text("utf-8"), re.DOTALL | re.MULTILINE)


def test_the_examples_print_what_they_show() -> None:
    assert len(BLOCKS) >= 8
    test = doctest.DocTestParser().get_doctest("\n".join(BLOCKS), {}, "geometry.md", str(PAGE), 0)
    said: list[str] = []
    found = doctest.DocTestRunner(optionflags=doctest.REPORT_NDIFF).run(test, out=said.append)
    assert found.failed == 0, "".join(said)
    assert found.attempted >= 25


@pytest.mark.parametrize("name", geometry.__all__)
def test_every_public_name_is_explained(name: str) -> None:
    assert re.search(rf"`{name}`", PAGE.read_text("utf-8")), name
