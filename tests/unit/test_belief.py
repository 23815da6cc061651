"""What a story makes of a car, against counting every state and every coin of small models."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.belief.evidence import merge
from diagnose.belief.network import Input, Network, Node, reaching
from diagnose.errors import ImpossibleAnswers
from diagnose.model.complaint import Complaint, Gate, Leaf, Use
from diagnose.model.library import Library
from diagnose.model.story import Heard, Seen, Story
from diagnose.model.vehicle import Vehicle
from tests.oracle import blamed, enumerate_all, left_over
from tests.small_trees import SMALL, compiled

WHOLE = compiled(SMALL)[0].library
BOX = Vehicle(facts={"steering": "box"})
STIFF, PLAY = "rock-the-steering/how-stiff", "rock-the-steering/rim-play"
MOVES, FELT, ASKED = "rock-the-steering/end-moves", "rock-the-steering/wander-felt", "ask-tyres/long-ago"

SOFT, LOOSE = Leaf("tyres-soft", 0.5), Leaf("rod-end-play", 0.3)


def with_complaints(*complaints: Complaint, **mechanisms: Gate) -> Library:
    return replace(
        WHOLE, complaints={c.id: c for c in complaints}, mechanisms={**WHOLE.mechanisms, **mechanisms}
    )


#: One complaint with two alternatives, and one that needs both: four causes on a car with a box.
EITHER = with_complaints(Complaint("wander", "either", Gate("any", 1, (SOFT, LOOSE), leak=0.1)))
BOTH = with_complaints(
    Complaint("wander", "both", Gate("any", 1, (Gate("all", 2, (SOFT, LOOSE), strength=0.9),), leak=0.05))
)
TWO = with_complaints(
    Complaint("wander", "one", Gate("any", 1, (SOFT, Use("slack", 0.7)), leak=0.1)),
    Complaint("pull", "two", Gate("any", 1, (Use("slack", 0.4),), leak=0.05)),
    slack=Gate("any", 1, (LOOSE,), id="slack", name="slack"),
)
STORIES: list[tuple[Library, Story]] = [
    (EITHER, Story(BOX, (Heard("wander"),))),
    (EITHER, Story(BOX, (Heard("wander"),), (Seen(MOVES, "front-left"), Seen(MOVES, "front-right", "no")))),
    (
        EITHER,
        Story(BOX, (Heard("wander", None, "probably"),), (Seen(PLAY, None, "past the feel limit", 9.0),)),
    ),
    (BOTH, Story(BOX, (Heard("wander", None, "probably"),))),
    (TWO, Story(BOX, (Heard("wander"), Heard("pull")))),
]


def only(network: Network, keys: Sequence[str]) -> Network:
    """The network without what does not feed these nodes: it sums out to one."""
    kept = reaching(network, keys)
    return replace(network, nodes={key: node for key, node in network.nodes.items() if key in kept})


def small(belief: Belief) -> Network:
    return only(belief.car.plain.network, [*belief.weights, *belief.car.complaints])


def with_any(network: Network, complaints: Mapping[str, str | None]) -> Network:
    """With a node that is on if any of the complaints is."""
    nodes = {
        **network.nodes,
        "any": Node("any", 1, True, (1.0, 0.0), tuple(Input(c, (1.0,)) for c in complaints)),
    }
    return replace(network, nodes=nodes)


@pytest.mark.parametrize(("library", "story"), STORIES)
def test_presence_and_mechanisms_equal_counting(library: Library, story: Story) -> None:
    belief = Belief(Car(library, story.vehicle, story.complaints), story)
    total, causes, nodes, _ = enumerate_all(small(belief), belief.weights)
    assert float(belief.answer.log_evidence[0]) == pytest.approx(math.log(total), abs=1e-9)
    assert list(belief.present) == pytest.approx(causes, abs=1e-9)
    for complaint in story.complaints:
        assert belief.complaint(complaint) == pytest.approx(nodes[complaint], abs=1e-9)
    for key, p in belief.mechanisms.items():
        assert p == pytest.approx(nodes[key], abs=1e-9)


@pytest.mark.parametrize(("library", "story"), STORIES)
def test_blame_equals_counting_every_coin(library: Library, story: Story) -> None:
    belief = Belief(Car(library, story.vehicle, story.complaints), story)
    network = with_any(small(belief), story.complaints)
    expected = blamed(network, "any", belief.weights)
    # Two weak ways up from one mechanism are taken as independent (docs/method.md): near, not exact.
    near = 0.005 if library is TWO else 1e-9
    assert list(belief.to_blame) == pytest.approx(expected, abs=near)
    assert all(b <= p + 1e-12 for b, p in zip(belief.to_blame, belief.present, strict=True))


@pytest.mark.parametrize(("library", "story"), STORIES)
def test_outside_is_what_is_left_with_every_cause_put_right(library: Library, story: Story) -> None:
    belief = Belief(Car(library, story.vehicle, story.complaints), story)
    network = with_any(small(belief), story.complaints)
    left = left_over(network, "any", frozenset(range(len(belief.causes))), belief.weights)
    assert belief.outside == pytest.approx(left, abs=1e-9)
    assert belief.cured(range(len(belief.causes))) == pytest.approx(1.0 - left, abs=1e-9)


@pytest.mark.parametrize(("library", "story"), STORIES)
@pytest.mark.parametrize("cured", [(0,), (0, 2)])
def test_a_cure_equals_counting_what_it_leaves(
    library: Library, story: Story, cured: tuple[int, ...]
) -> None:
    belief = Belief(Car(library, story.vehicle, story.complaints), story)
    left = left_over(with_any(small(belief), story.complaints), "any", frozenset(cured), belief.weights)
    assert belief.cured(cured) == pytest.approx(1.0 - left, abs=1e-9)


def test_curing_nothing_leaves_the_complaint_as_it_is() -> None:
    story = STORIES[0][1]
    belief = Belief(Car(EITHER, BOX, story.complaints), story)
    assert belief.cured(()) == pytest.approx(1.0 - belief.complaint("wander"), abs=1e-12)


@pytest.mark.parametrize(("library", "story"), STORIES)
def test_sets_of_causes_equal_counting(library: Library, story: Story) -> None:
    belief = Belief(Car(library, story.vehicle, story.complaints), story)
    total, _, _, sets = enumerate_all(small(belief), belief.weights)
    best = sorted(((p / total, causes) for causes, p in sets.items()), reverse=True)[:3]
    found = belief.together(3)
    assert [each.probability for each in found] == pytest.approx([p for p, _ in best], abs=1e-9)
    states = [tuple(int(n in each.causes) for n in range(len(belief.causes))) for each in found]
    for state, each in zip(states, found, strict=True):
        assert sets[state] / total == pytest.approx(each.probability, abs=1e-9)
    assert len(set(states)) == 3


# Explanations ----------------------------------------------------------------------------------------------

LONG = Story(
    Vehicle(facts={"steering": "rack"}, km=190_000.0),
    (Heard("wander"),),
    (
        Seen(ASKED, None, "no"),
        Seen(MOVES, "front-left"),
        Seen(STIFF, None, "cannot-tell"),
        Seen(PLAY, None, "past the inspection limit", 14.0),
    ),
)


def test_the_pull_of_each_answer_is_what_the_odds_were_without_it() -> None:
    car = Car(WHOLE, LONG.vehicle, LONG.complaints)
    belief = Belief(car, LONG)
    keys = [key for key, _ in belief.observations]
    assert keys == ["wander", ASKED, f"{MOVES}@front-left", PLAY]  # `cannot-tell` is no observation
    told = [seen for seen in LONG.seen if seen.answer != "cannot-tell"]
    cause = car.network.index["rod-end-play-front-left"]

    def odds(story: Story) -> float:
        p = float(Belief(car, story).present[cause])
        return p / (1.0 - p)

    without = [replace(LONG, heard=())]
    without += [replace(LONG, seen=tuple(s for s in told if s is not each)) for each in told]
    expected = [odds(LONG) / odds(story) for story in without]
    pulls = belief.pull_of_each(cause)
    assert pulls == pytest.approx(expected, rel=1e-9)
    assert pulls[2] == max(pulls) > 5.0
    assert pulls[2] > 1.0 > belief.pull_of_each(car.network.index["tyres-soft-front"])[1]


def test_conflict_is_jensens_measure() -> None:
    """A rod end that surely moves on both sides, yet no play at the rim: bits counted one by one."""
    seen = (
        Seen(MOVES, "front-left"),
        Seen(MOVES, "front-right"),
        Seen(PLAY, None, "inside all limits", 1.0),
    )
    story = Story(BOX, (Heard("wander"),), seen)
    belief = Belief(Car(EITHER, BOX, story.complaints), story)
    network = small(belief)

    def log2(observations: list[tuple[str, tuple[float, ...]]]) -> float:
        return math.log2(enumerate_all(network, merge(observations))[0])

    apart = [log2([each]) for each in belief.observations]
    bits = sum(apart) - log2(belief.observations)
    rests = []
    for number in range(len(belief.observations)):
        others = belief.observations[:number] + belief.observations[number + 1 :]
        rests.append(sum(apart) - apart[number] - log2(others))
    gains = [bits - rest for rest in rests]
    found = belief.conflict()
    assert found is not None
    assert found.bits == pytest.approx(bits, abs=1e-9)
    assert found.suspect == gains.index(max(gains)) == 3
    assert found.mended == pytest.approx(max(gains), abs=1e-9)


def test_answers_that_support_one_another_do_not_conflict() -> None:
    found = Belief(Car(WHOLE, LONG.vehicle, LONG.complaints), LONG).conflict()
    assert found is None or found.bits < 2.0


def test_two_answers_are_too_few_for_a_conflict() -> None:
    story = Story(BOX, (Heard("wander"),), (Seen(MOVES, "front-left"),))
    assert Belief(Car(EITHER, BOX, story.complaints), story).conflict() is None


def test_answers_that_cannot_all_be_true() -> None:
    story = Story(BOX, (Heard("wander"),), (Seen(ASKED), Seen(ASKED, None, "no")))
    with pytest.raises(ImpossibleAnswers) as raised:
        Belief(Car(EITHER, BOX, story.complaints), story)
    assert "take one back" in str(raised.value)


def test_the_order_is_by_blame_and_holds_suspects_only() -> None:
    belief = Belief(Car(WHOLE, LONG.vehicle, LONG.complaints), LONG)
    order = belief.order()
    blame = [round(float(belief.to_blame[n]), 12) for n in order]
    assert blame == sorted(blame, reverse=True)
    assert set(order) == set(belief.car.suspects())
    assert belief.causes[order[0]].id == "rod-end-play-front-left"


def test_mechanisms_come_most_likely_first() -> None:
    belief = Belief(Car(WHOLE, LONG.vehicle, LONG.complaints), LONG)
    assert set(belief.mechanisms) == {"loose-steering", "two-soft"}
    assert list(belief.mechanisms.values()) == sorted(belief.mechanisms.values(), reverse=True)


def test_a_complaint_denied_makes_its_causes_less_likely() -> None:
    heard, denied = (
        Belief(Car(EITHER, BOX, {"wander": None}), Story(BOX, (Heard("wander", None, answer),)))
        for answer in ("yes", "no")
    )
    for number, cause in enumerate(heard.causes):
        assert denied.present[number] < cause.prior < heard.present[number]
