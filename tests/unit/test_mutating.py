"""The small mistakes that are put into modules to try the tests, and how sure a share of them is."""

from __future__ import annotations

import pytest

from tests.benchmarks.mutants import wilson
from tests.mutating import Mutant, mutants, sample

SOURCE = '''
"""A docstring is not changed."""
LIMIT: int = 3

@dataclass(frozen=True)
class Box:
    size: float = 0.5

def most(some: list, low=1) -> float:
    """Nor is this one."""
    if not some or len(some) < low:
        raise ValueError("nothing")
    return max(each * 2 for each in some if each > 0)
'''


def test_every_kind_of_mistake_is_made_once_where_it_can_be() -> None:
    """By the operators of mutation testing that the module names, applied by hand; cut at the first `in`."""
    changes = [(each.function, each.kind, each.change.partition(" in ")[0]) for each in found()]
    assert changes == [
        ("", "constant", "3 -> 4"),
        ("Box", "constant", "0.5 -> 1.0"),
        ("most", "constant", "1 -> 2"),
        ("most", "logic", "not some or len(some) < low -> not some and len(some) < low"),
        ("most", "condition", "not some or len(some) < low -> not (not some or len(some) < low)"),
        ("most", "logic", "not some -> some"),
        ("most", "comparison", "len(some) < low -> len(some) <= low"),
        ("most", "removed", "raise ValueError('nothing') -> pass"),
        ("most", "return", "return max((each * 2 for each"),
        ("most", "name", "max -> min"),
        ("most", "arithmetic", "each * 2 -> each / 2"),
        ("most", "constant", "2 -> 3"),
        ("most", "comparison", "each > 0 -> each >= 0"),
        ("most", "condition", "each > 0 -> not each > 0"),
        ("most", "constant", "0 -> 1"),
    ]


def found() -> list[Mutant]:
    return mutants("demo/box", SOURCE, "box.py")


def test_each_has_a_name_of_its_own_and_leaves_the_others_alone() -> None:
    some = found()
    assert len({each.name for each in some}) == len(some)
    original = compile(SOURCE, "box.py", "exec")
    codes = [each.code() for each in some]
    assert all(code != original for code in codes)
    assert len(set(codes)) == len(codes)
    # Made again, in another order, they are the same.
    assert [each.code() for each in reversed(some)] == codes[::-1]
    assert [each.first for each in some] == [0, 0] + [9] * 13


def test_a_sample_stays_where_the_code_around_it_changes() -> None:
    some = found()
    drawn = sample(some, 6, seed=1)
    assert drawn == sample(reversed(some), 9, seed=1)[:6]
    assert drawn != sample(some, 6, seed=2)
    further_down = mutants("demo/box", SOURCE.replace("LIMIT", "OTHER = 7\n\nLIMIT"), "box.py")
    kept = {each.name for each in drawn} & {each.name for each in sample(further_down, 7, seed=1)}
    assert len(kept) >= 5


@pytest.mark.parametrize(
    ("hits", "of", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_the_interval_of_a_share(hits: int, of: int, low: float, high: float) -> None:
    """R. G. Newcombe, Stat. Med. 17 (1998) 857-872, Table I, method 3; from memory."""
    assert wilson(hits, of) == pytest.approx((low, high), abs=5e-5)
