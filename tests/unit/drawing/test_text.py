"""A tree in the terminal: its lines, with and without box characters, and with what is believed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.drawing.believed import marks_of
from diagnose.drawing.picture import NOT_LISTED, Marks, Place, leaf_key, picture
from diagnose.drawing.text import Line, lines_of, wrapped
from diagnose.model.complaint import Complaint, Gate, Leaf
from diagnose.model.library import Library
from diagnose.model.story import Heard, Story
from diagnose.model.vehicle import Vehicle
from tests.shipped import LIBRARY as SHIPPED
from tests.small_trees import SMALL, compiled, edited

LIBRARY = compiled(SMALL)[0].library


def _with(complaints: dict[str, Complaint]) -> Library:
    return replace(LIBRARY, complaints=complaints, mechanisms={})


# what reaches what ----------------------------------------------------------------------------


def draw(library: Library, complaint: str, *, ascii_only: bool = False) -> list[Line]:
    return lines_of(picture(library, complaint), ascii_only=ascii_only)


def test_a_tree_drawn() -> None:
    assert (
        "\n".join(str(line) for line in draw(LIBRARY, "wander"))
        == """\
Wanders: ANY OF
├─ the steering is loose: ANY OF
│  └─ outer rod end: play in the socket, each front corner [0.45]
├─ two of three soft places: AT LEAST 2 OF 3 [0.9]
│  ├─ tyres: pressure too low, front [0.5]
│  ├─ tyres: pressure too low, rear [0.5]
│  ├─ outer rod end: dry and hard to turn, each front corner [0.2]
│  └─ something not listed here [0.01]
└─ something not listed here [0.03]"""
    )


def test_a_tree_drawn_without_box_characters_follows_uses() -> None:
    assert (
        "\n".join(str(line) for line in draw(LIBRARY, "pull", ascii_only=True))
        == """\
Pulls to one side: ALL OF
|- tyres: pressure too low, each axle [0.5]
|- outer rod end: dry and hard to turn, this side [0.3]
|- the steering is loose: ANY OF [0.8]
|  `- outer rod end: play in the socket, each front corner [0.45]
`- something not listed here [0.05]"""
    )


def test_lines_come_with_their_depth_and_branch_apart() -> None:
    lines = draw(LIBRARY, "wander")
    assert lines[0] == Line(0, "", "Wanders: ANY OF", "│  ")
    assert lines[2].depth == 2
    assert lines[2].connector == "│  └─ "
    assert lines[-1] == Line(1, "└─ ", f"{NOT_LISTED} [0.03]", "      ")


def test_a_last_gate_without_a_leak_closes_its_branch() -> None:
    inner = Gate("all", 1, (Leaf("tyres-soft", 0.5),))
    library = _with({"x": Complaint("x", "X", Gate("any", 1, (inner,)))})
    assert [str(line) for line in draw(library, "x")] == [
        "X: ANY OF",
        "└─ ALL OF",
        "   └─ tyres: pressure too low, each axle [0.5]",
    ]


def test_a_draft_with_mistakes_can_be_drawn() -> None:
    files = edited(
        ("pull.yaml", "cause: tyres-soft", "cause: tyres-sft"),
        ("pull.yaml", "use: loose-steering", "use: lose-steering"),
    )
    lines = [str(line) for line in draw(compiled(files)[0].library, "pull")]
    assert lines[1] == "├─ tyres-sft?"
    assert lines[3] == "├─ lose-steering?"


def test_a_mechanism_that_leads_back_to_itself_is_drawn_once() -> None:
    files = edited(
        ("wander.yaml", "- {cause: rod-end-play, strength: 0.45}", "- {use: loose-steering}"),
    )
    lines = [str(line) for line in draw(compiled(files)[0].library, "wander")]
    assert lines[1:3] == ["├─ the steering is loose: ANY OF", "│  └─ loose-steering?"]


def test_an_unknown_complaint_cannot_be_drawn() -> None:
    with pytest.raises(KeyError, match="hum"):
        draw(LIBRARY, "hum")


def test_lines_are_cut_to_the_width_and_hang_under_their_branch() -> None:
    assert wrapped(draw(LIBRARY, "wander"), 40) == [
        "Wanders: ANY OF",
        "├─ the steering is loose: ANY OF",
        "│  └─ outer rod end: play in the socket,",
        "│        each front corner [0.45]",
        "├─ two of three soft places: AT LEAST 2",
        "│  │  OF 3 [0.9]",
        "│  ├─ tyres: pressure too low, front",
        "│  │     [0.5]",
        "│  ├─ tyres: pressure too low, rear",
        "│  │     [0.5]",
        "│  ├─ outer rod end: dry and hard to",
        "│  │     turn, each front corner [0.2]",
        "│  └─ something not listed here [0.01]",
        "└─ something not listed here [0.03]",
    ]


def test_what_is_believed_stands_under_each_event() -> None:
    play, tight = (
        next(
            leaf
            for gate in LIBRARY.complaints["wander"].top.branches
            if isinstance(gate, Gate)
            for leaf in gate.branches
            if isinstance(leaf, Leaf) and leaf.fault == fault
        )
        for fault in ("rod-end-play", "rod-end-tight")
    )
    marks = Marks(
        "demo car",
        {"wander": 0.97, "loose-steering": 0.63},
        {
            leaf_key(play): (Place("front left", 0.6, 0.7), Place("front right", 0.001, 0.02)),
            leaf_key(tight): (Place("front left", 0.001, 0.02), Place("front right", 0.001, 0.0, True)),
        },
        0.08,
    )
    assert [str(line) for line in lines_of(picture(LIBRARY, "wander", marks))] == [
        "Wanders: ANY OF",
        "│  there 97",
        "├─ the steering is loose: ANY OF",
        "│  │  there 63",
        "│  └─ outer rod end: play in the socket, each front corner [0.45]",
        "│        to blame 60, there 70 front left",
        "│        to blame <1 elsewhere",
        "├─ two of three soft places: AT LEAST 2 OF 3 [0.9]",
        "│  ├─ tyres: pressure too low, front [0.5]",
        "│  │     not on this car",
        "│  ├─ tyres: pressure too low, rear [0.5]",
        "│  │     not on this car",
        "│  ├─ outer rod end: dry and hard to turn, each front corner [0.2]",
        "│  │     to blame <1, there <1 front right, put right",
        "│  │     to blame <1 elsewhere",
        "│  └─ something not listed here [0.01]",
        "└─ something not listed here [0.03]",
        "      to blame 8",
    ]


def test_marks_are_what_the_belief_says() -> None:
    vehicle = Vehicle("demo", {"front": "strut"}, {}, 187_000, 12)
    belief = Belief(Car(SHIPPED, vehicle, {"wander": None}), Story(vehicle, (Heard("wander", None),)))
    marks = marks_of(belief, "wander", "demo")
    assert marks.outside == belief.outside
    assert marks.gates["wander"] == belief.complaint("wander")
    for mechanism, p in belief.mechanisms.items():
        assert marks.gates[mechanism] == pytest.approx(p, abs=1e-12)
    by_place = {
        (leaf[0], place.name): (place.blame, place.there)
        for leaf, places in marks.leaves.items()
        for place in places
    }
    for number in belief.order()[:10]:
        cause = belief.causes[number]
        name = cause.position.replace("-", " ")
        found = by_place.get((cause.fault, name)) or by_place[cause.fault, ""]
        assert found == (float(belief.to_blame[number]), float(belief.present[number]))
    # A strut car has no upper arm: its row is told to be on no place of this car.
    boxes = [line.text for line in lines_of(picture(SHIPPED, "wander", marks))]
    assert (
        boxes[boxes.index("upper arm bush: worn or torn, each front corner [0.25]") + 1] == "not on this car"
    )


def test_after_a_repair_gates_are_not_told_and_what_was_put_right_is() -> None:
    vehicle = Vehicle("demo", {"front": "strut"}, {}, 187_000, 12)
    car = Car(SHIPPED, vehicle, {"wander": None})
    story = Story(vehicle, (Heard("wander", None),))
    number = Belief(car, story).order()[0]
    belief = Belief(car.after([number]), story)
    marks = marks_of(belief, "wander", "demo")
    assert set(marks.gates) == {"wander"}
    cause = belief.causes[number]
    cured = [
        place.name
        for leaf, places in marks.leaves.items()
        for place in places
        if place.cured and leaf[0] == cause.fault
    ]
    assert len(cured) >= 1
    assert not any(
        place.cured for leaf, places in marks.leaves.items() for place in places if leaf[0] != cause.fault
    )
