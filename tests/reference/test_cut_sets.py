"""Minimal cut sets, bounds and importance against published worked examples.

Where a publication prints fewer digits than stand here, the rest was recomputed from its inputs.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import pytest

from diagnose.faulttree.tree import FaultTree, Importance
from tests.reference.published_trees import BAOBAB, CHINESE, VESELY, Gates, gates, vesely
from tests.reference.small import tree


def grown(priors: Mapping[str, float], told: Gates) -> FaultTree:
    return FaultTree(tree(priors, told), "TOP")


def cut_sets(found: FaultTree, most: int = 100_000) -> list[str]:
    """Cut sets as words in order of the alphabet, the likeliest first."""
    return [
        " ".join(sorted(found.events[event].key for event in each.events)) for each in found.cut_sets(most)
    ]


def importance(found: FaultTree) -> dict[str, Importance]:
    return {found.events[each.event].key: each for each in found.importance}


# Pressure tank: Fault Tree Handbook, NUREG-0492 (1981), sections VIII and XI. Inputs and answers FROM
# MEMORY of the publication, arithmetic redone.
TANK = {"T": 5e-6, "K2": 3e-5, "S": 1e-4, "S1": 3e-5, "K1": 3e-5, "R": 1e-4}
TANK_GATES = gates("relays = or S1 K1 R\nboth = and S relays\nTOP = or T K2 both")


def test_pressure_tank() -> None:
    found = grown(TANK, TANK_GATES)
    likeliest_first = cut_sets(found)
    assert likeliest_first[:3] == ["K2", "T", "R S"]
    assert set(likeliest_first[3:]) == {"K1 S", "S S1"}  # these two are as likely as one another
    assert found.counts == {1: 2, 2: 3}
    assert [each.chance for each in found.cut_sets()] == pytest.approx(
        [3e-5, 5e-6, 1e-8, 3e-9, 3e-9], rel=1e-12
    )
    assert found.chance == pytest.approx(3.501584875e-5, rel=1e-9)
    assert found.bounds == pytest.approx((3.501584944e-5, 3.5016e-5), rel=1e-9)
    # Said there: the two single failures carry about 86 and 14 of 100.
    assert [round(100 * each.share) for each in found.cut_sets(2)] == [86, 14]


@pytest.mark.parametrize(
    ("event", "birnbaum", "criticality", "given_top", "achievement", "reduction", "fussell_vesely"),
    [
        ("K2", 0.999995, 0.856751, 0.856755, 28558.5, 6.98083, 0.856755),
        ("T", 0.99997, 0.142788, 0.142792, 28558.5, 1.16657, 0.142792),
        ("S", 1.59988e-4, 4.569e-4, 5.56855e-4, 5.56855, 1.00046, 4.56916e-4),
        ("R", 9.99905e-5, 2.85558e-4, 3.85529e-4, 3.85529, 1.00029, 2.85585e-4),
        ("K1", 9.99835e-5, 8.56614e-5, 1.15659e-4, 3.85529, 1.00009, 8.56755e-5),
        ("S1", 9.99835e-5, 8.56614e-5, 1.15659e-4, 3.85529, 1.00009, 8.56755e-5),
    ],
)
def test_pressure_tank_importance(
    event: str,
    birnbaum: float,
    criticality: float,
    given_top: float,
    achievement: float,
    reduction: float,
    fussell_vesely: float,
) -> None:
    found = importance(grown(TANK, TANK_GATES))[event]
    assert found.birnbaum == pytest.approx(birnbaum, rel=1e-5)
    assert found.criticality == pytest.approx(criticality, rel=1e-5)
    assert found.given_top == pytest.approx(given_top, rel=1e-5)
    assert found.achievement == pytest.approx(achievement, rel=1e-5)
    assert found.reduction == pytest.approx(reduction, abs=5e-6)
    assert found.fussell_vesely == pytest.approx(fussell_vesely, rel=1e-5)


# Two redundant trains: github.com/rakhimov/scram, its tests of importance and of the min-cut bound.
TRAINS = {"V1": 0.4, "V2": 0.5, "P1": 0.6, "P2": 0.7}
TRAIN_GATES = gates("one = or V1 P1\ntwo = or V2 P2\nTOP = and one two")


def test_two_trains() -> None:
    found = grown(TRAINS, TRAIN_GATES)
    assert cut_sets(found) == ["P1 P2", "P1 V2", "P2 V1", "V1 V2"]
    assert [each.chance for each in found.cut_sets()] == pytest.approx([0.42, 0.3, 0.28, 0.2], abs=1e-12)
    assert found.chance == pytest.approx(0.646, abs=1e-12)
    assert found.bounds == pytest.approx((0.766144, 1.2), abs=1e-9)
    tenth = grown({event: p / 10 for event, p in TRAINS.items()}, TRAIN_GATES)
    assert tenth.chance == pytest.approx(0.0113704, abs=1e-12)
    assert tenth.bounds == pytest.approx((0.01194734, 0.012), abs=5e-9)


@pytest.mark.parametrize(
    ("event", "birnbaum", "criticality", "given_top", "achievement", "reduction"),
    [
        ("P1", 0.51, 0.4737, 0.7895, 1.316, 1.900),
        ("P2", 0.38, 0.4118, 0.8235, 1.176, 1.700),
        ("V1", 0.34, 0.2105, 0.5263, 1.316, 1.267),
        ("V2", 0.228, 0.1765, 0.5882, 1.176, 1.214),
    ],
)
def test_two_trains_importance(
    event: str, birnbaum: float, criticality: float, given_top: float, achievement: float, reduction: float
) -> None:
    found = importance(grown(TRAINS, TRAIN_GATES))[event]
    assert found.birnbaum == pytest.approx(birnbaum, abs=1e-12)
    assert found.criticality == pytest.approx(criticality, abs=5e-5)
    assert found.given_top == pytest.approx(given_top, abs=5e-5)
    assert found.achievement == pytest.approx(achievement, abs=5e-4)
    assert found.reduction == pytest.approx(reduction, abs=5e-4)


# A class example with a shared event ("ne574"): github.com/rakhimov/scram, input and tests.
SHARED = {"B": 0.1, "C": 0.3, "D": 0.5, "F": 0.7, "G": 0.2, "H": 0.4, "I": 0.8}
SHARED_GATES = gates("left = or F G B C\nHI = and H I\nright = or C D HI\nTOP = and left right")


def test_shared_event() -> None:
    found = grown(SHARED, SHARED_GATES)
    assert sorted(cut_sets(found)) == sorted(["C", "D F", "D G", "B D", "F H I", "G H I", "B H I"])
    assert found.chance == pytest.approx(0.662208, abs=1e-9)
    assert found.bounds == pytest.approx((0.726479, 1.12), abs=5e-7)
    # The source tells three readings of one importance apart; ours is the union of cut sets.
    assert importance(found)["B"].fussell_vesely == pytest.approx(0.0996666, abs=5e-8)
    assert importance(found)["B"].given_top == pytest.approx(0.11507, abs=5e-6)
    assert importance(found)["B"].cut_sets == 2


# Votes and simple gates: github.com/rakhimov/scram, input and tests.
THREE = {"A": 0.1, "B": 0.2, "C": 0.3}


def test_votes() -> None:
    vote = grown(THREE, gates("TOP = 2 A B C"))
    assert cut_sets(vote) == ["B C", "A C", "A B"]
    assert vote.chance == pytest.approx(0.098, abs=1e-12)
    assert vote.bounds == pytest.approx((0.106436, 0.11), abs=5e-7)
    assert {event: each.birnbaum for event, each in importance(vote).items()} == pytest.approx(
        {"A": 0.38, "B": 0.34, "C": 0.26}, abs=1e-12
    )
    simple = grown(THREE, gates("TOP = or A B C"))
    assert (simple.chance, *(simple.bounds or ())) == pytest.approx((0.496, 0.496, 0.6), abs=1e-12)
    chain = grown(THREE, gates("AB = and A B\nBC = and B C\nTOP = or AB BC"))
    assert (chain.chance, chain.bounds and chain.bounds[1]) == pytest.approx((0.074, 0.08), abs=1e-12)


def test_glossary_tree() -> None:
    """Source: fta-studio.pages.dev/glossary/fussell-vesely-importance.

    It prints 0.077 and 0.92, as ratios of rare-event sums; ours are of exact unions.
    """
    priors = {"a": 0.01, "b": 0.02, "c": 0.005, "d": 0.003}
    found = grown(priors, gates("ab = and a b\nac = and a c\nTOP = or ab ac d"))
    assert cut_sets(found) == ["d", "a b", "a c"]
    assert found.chance == pytest.approx(3.248253e-3, abs=5e-10)
    assert found.bounds is not None and found.bounds[1] == pytest.approx(3.25e-3, abs=1e-12)
    weights = importance(found)
    assert round(weights["a"].fussell_vesely, 3) == 0.077
    assert round(weights["d"].fussell_vesely, 2) == 0.92
    assert weights["a"].fussell_vesely == pytest.approx(0.0766566, abs=5e-8)
    assert weights["d"].fussell_vesely == pytest.approx(0.923573, abs=5e-7)


def test_operating_theatre_supply() -> None:
    """Source: github.com/rakhimov/scram, input of that name, constant probabilities."""
    priors = {"mains": 0.03, "generator": 0.02, "relay": 0.05}
    found = grown(priors, gates("standby = or generator relay\nTOP = and mains standby"))
    assert cut_sets(found) == ["mains relay", "generator mains"]
    assert [each.chance for each in found.cut_sets()] == pytest.approx([0.0015, 0.0006], abs=1e-15)
    assert found.chance == pytest.approx(0.00207, abs=1e-12)
    assert found.bounds == pytest.approx((0.0020991, 0.0021), abs=5e-9)
    # Without mains failing nothing happens: no reduction worth is large enough.
    assert importance(found)["mains"].reduction is None


@pytest.mark.parametrize(
    ("told", "events", "many", "chance", "rare"),
    [(CHINESE, 25, 392, 1.17058e-3, 1.20026e-3), (BAOBAB, 32, 4805, 7.13018e-4, 7.23747e-4)],
)
def test_aralia_trees(told: Gates, events: int, many: int, chance: float, rare: float) -> None:
    """Number of cut sets and top value as printed by the data set; the rare-event sums were recomputed."""
    names = {branch for _, branches in told.values() for branch in branches if branch.startswith("e")}
    assert len(names) == events
    found = grown(dict.fromkeys(sorted(names), 0.01), told)
    assert sum(found.counts.values()) == many
    assert found.chance == pytest.approx(chance, rel=5e-6)
    assert found.bounds is not None and found.bounds[1] == pytest.approx(rare, rel=5e-6)
    assert len(set(cut_sets(found))) == many
    # Cut off at an order, none is lost and none is too long.
    least = min(found.counts)
    assert len(found.cut_sets(10_000, least + 1)) == found.counts[least] + found.counts.get(least + 1, 0)


@pytest.mark.parametrize(
    ("hours", "chance"),
    [
        (1000, 3.487708e-3),
        (2000, 1.317315e-2),
        (3000, 2.800016e-2),
        (4000, 4.704642e-2),
        (5000, 6.950835e-2),
        (10000, 2.116537e-1),
    ],
)
def test_longer_branches_are_absorbed(hours: float, chance: float) -> None:
    """Vesely 1970. Structure and rates are the paper's; the top values were computed from them in closed
    form, not read off its table 3: two of three twice over."""
    found = grown(vesely(hours), VESELY)
    assert sorted(cut_sets(found)) == ["1 2", "1 3", "2 3", "4 5", "4 6", "5 6"]
    assert found.chance == pytest.approx(chance, rel=5e-7)
    both = [3 * p**2 - 2 * p**3 for p in (vesely(hours)["1"], vesely(hours)["4"])]
    assert found.chance == pytest.approx(1 - math.prod(1 - p for p in both), rel=1e-12)


def test_small_probabilities_survive_an_or() -> None:
    """Source of the trouble: "Fault Tree Analysis: How Accurate is it?", of the OR formula of IEC 61025."""
    found = grown(dict.fromkeys("abc", 1e-17), gates("TOP = or a b c"))
    assert found.chance == pytest.approx(3e-17, rel=1e-12, abs=0.0)
    assert grown(dict.fromkeys("abc", 1e-3), gates("TOP = or a b c")).chance == pytest.approx(
        0.002997001, rel=1e-12
    )
    assert found.bounds == pytest.approx((3e-17, 3e-17), rel=1e-12, abs=0.0)
