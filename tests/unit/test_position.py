"""Where a part sits: how its place is told beside its name."""

from __future__ import annotations

from collections import Counter

import pytest

from diagnose.model.position import WHERE, told_place
from tests.shipped import LIBRARY


@pytest.mark.parametrize(
    ("where", "position", "told"),
    [
        ("each-front-corner", "front-right", "front right"),
        ("each-axle", "rear", "rear"),
        ("each-side", "left", "left"),
        ("front", "front", ""),
        ("centre", "centre", ""),
        ("front-left", "front-left", "front left"),
    ],
)
def test_the_place_is_told_where_the_part_has_several(where: str, position: str, told: str) -> None:
    assert told_place(where, position) == told


def test_no_two_causes_of_the_library_are_called_alike() -> None:
    names = Counter(
        (LIBRARY.parts[fault.part].name, fault.name, told_place(fault.where, position))
        for fault in LIBRARY.faults.values()
        for position in WHERE[fault.where]
    )
    assert [name for name, many in names.items() if many > 1] == []
