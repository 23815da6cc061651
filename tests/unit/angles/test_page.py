"""docs/angles.md: it names every key that the program reads, and its bounds are the program's.

That its example prints what it shows is tested in tests/unit/test_docs.py.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from diagnose.angles.csvin import ANGLES, COLUMNS
from diagnose.angles.doubts import _BELIEVABLE
from diagnose.angles.judge import COMMON_CROSS
from diagnose.angles.read import SHAPE, _OrBlank
from diagnose.angles.sheet import FRONT_LAYOUTS, REAR_LAYOUTS, UNITS, Repeatability
from diagnose.library.shapes import Row, Shape
from tests.sheets import PAGE

TEXT = PAGE.read_text("utf-8")


def keys(shape: Shape) -> Iterator[str]:
    """Every key of a shape and of those below it."""
    if isinstance(shape, _OrBlank):
        yield from keys(shape.value)
    if isinstance(shape, Row):
        for name, key in shape.keys.items():
            yield name
            yield from keys(key.shape())


def test_every_key_is_explained() -> None:
    words = {*keys(SHAPE), *COLUMNS, *ANGLES, *FRONT_LAYOUTS, *REAR_LAYOUTS, *UNITS}
    assert len(words) > 40
    header = TEXT[TEXT.index("```csv") :].splitlines()[2].split(";")
    assert {word for word in words if f"`{word}`" not in TEXT and word not in header} == set()


def test_the_bounds_are_those_of_the_program() -> None:
    part = TEXT[TEXT.index("## What is questioned") :].replace("\n", " ")
    assert _BELIEVABLE["camber"] == (-10, 10) and "camber beyond 10°" in part
    assert _BELIEVABLE["caster"] == (-3, 15) and "caster below -3° or above 15°" in part
    assert _BELIEVABLE["inclination"] == (0, 25) and "inclination outside of   0° to 25°" in part
    assert _BELIEVABLE["toe"] == (-3, 3) and "toe beyond 3° a wheel" in part
    assert _BELIEVABLE["thrust"] == (-2, 2) and "thrust beyond 2°" in part
    assert _BELIEVABLE["set-back-length"] == (-0.06, 0.06) and "set-back beyond 60 mm" in part


def test_repeatability_is_that_of_the_program() -> None:
    known = Repeatability()
    assert "0.1° of camber and 0.05° of toe" in TEXT
    assert (math.degrees(known.camber), math.degrees(known.toe)) == (0.1, 0.05)
    # Own arithmetic: 0.1 / (2 sin 20) = 0.146, rounded up.
    assert math.degrees(known.caster) >= 0.1 / (2 * math.sin(math.radians(20))) > 0.14
    assert {round(math.degrees(most), 9) for most, _ in COMMON_CROSS.values()} == {0.5}
