"""Rows become the model: every key of docs/trees.md, positions, grades, sources and set-up changes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.errors import Place
from diagnose.library.build import BUILT_IN_SOURCES, FLOOR, build, minutes_between
from diagnose.library.rows import gather
from diagnose.library.text import Scalar
from diagnose.model.check import Check, Finding, Limit, Link, Reading, SetUp
from diagnose.model.complaint import FELT, HEARD, Complaint, Gate, Leaf, Use
from diagnose.model.library import Access, Condition, Fact, FactValue, FollowUp, Remedy, Source
from diagnose.model.part import Fault, Life, Part
from tests.small_trees import SMALL, TABLES, compiled, edited

DRAFT, _ = compiled(SMALL)
LIBRARY = DRAFT.library


# rows -----------------------------------------------------------------------------------------


def test_tables() -> None:
    assert LIBRARY.facts == {
        "steering": Fact(
            "steering",
            "Which steering?",
            (FactValue("rack", "a rack", 0.9), FactValue("box", "a steering box", 0.1)),
            ("estimate",),
        )
    }
    assert LIBRARY.conditions == {
        "rough-roads": Condition("rough-roads", "Is it driven on rough roads?", "rough roads")
    }
    assert list(LIBRARY.set_ups) == ["talk", "ground", "lift", "wheels-off"]
    assert LIBRARY.set_ups["lift"] == SetUp("lift", "on a lift", 6, 3, ("common-practice",))
    assert LIBRARY.tools == {"helper": "a helper"}
    assert LIBRARY.areas == {"course": "holding its course"}
    assert LIBRARY.cautions == {"raised-car": "Stands under a strong point."}
    assert LIBRARY.access == {
        "wheel-off": Access("wheel-off", "front wheel off", "each", 0.1, "", ("common-practice",)),
        "end-parted": Access("end-parted", "rod end parted", "each", 0.15, "wheel-off", ("demo-book",)),
        "gear-out": Access("gear-out", "steering gear out", "car", 1.5, "end-parted", ("estimate",)),
    }
    assert LIBRARY.follow_ups == {"toe": FollowUp("toe", "set the toe", 40, 0, ("common-practice",))}
    assert LIBRARY.sources == {
        **BUILT_IN_SOURCES,
        "demo-book": Source("demo-book", "a demo book", "https://example.org/", "made up"),
    }


def test_parts_and_remedies() -> None:
    assert LIBRARY.parts == {
        "rod-end": Part("rod-end", "outer rod end", "each-front-corner", {"steering": ("rack", "box")}),
        "tyres": Part("tyres", "tyres", "each-axle"),
    }
    assert LIBRARY.remedies["renew-rod-end"] == Remedy(
        "renew-rod-end",
        "renew the rod end",
        "each",
        0.7,
        35,
        ("toe",),
        ("raised-car",),
        "Steering wheel straight.",
        ("common-practice",),
        access=("end-parted",),
    )
    assert LIBRARY.remedies["renew-gear"] == Remedy(
        "renew-gear",
        "renew the gear with its rods",
        "car",
        4,
        700,
        source=("estimate",),
        access=("gear-out",),
        covers=("renew-rod-end",),
    )


def test_a_fault_takes_its_position_from_its_part_and_narrows_its_fits() -> None:
    assert LIBRARY.faults == {
        "rod-end-play": Fault(
            "rod-end-play",
            "rod-end",
            "play in the socket",
            "each-front-corner",
            "renew-rod-end",
            life=Life(2.2, km=380_000),
            mates=3,
            lifts={"rough-roads": 1.6},
            fits={"steering": ("rack", "box")},
            danger="stop",
            danger_when="the stud can be pulled out",
            source=("common-practice", "demo-book"),
        ),
        "rod-end-tight": Fault(
            "rod-end-tight",
            "rod-end",
            "dry and hard to turn",
            "each-front-corner",
            "renew-rod-end",
            chance=0.01,
            fits={"steering": ("rack",)},
            source=("estimate",),
        ),
        "tyres-soft": Fault(
            "tyres-soft",
            "tyres",
            "pressure too low",
            "each-axle",
            "pump-up",
            chance=0.1,
            source=("estimate",),
            inspection="5.2.3",
            inspection_when="a tyre is flat",
        ),
    }


@pytest.mark.parametrize(
    ("written", "life"),
    [
        ("{years: 12, shape: 3}", Life(3, years=12)),
        ("{km: 100, years: 12, shape: 0.8}", Life(0.8, km=100, years=12)),
    ],
)
def test_a_life_in_years_or_in_both(written: str, life: Life) -> None:
    draft, problems = compiled(edited(("parts.yaml", "{km: 380000, shape: 2.2}", written)))
    assert problems == []
    assert draft.library.faults["rod-end-play"].life == life


def test_a_check_lists_its_findings_in_order() -> None:
    assert LIBRARY.checks["rock-the-steering"] == Check(
        "rock-the-steering",
        "rock the steering",
        "ground",
        5,
        "Helper turns the rim to and fro.",
        (
            "rock-the-steering/end-moves",
            "rock-the-steering/how-stiff",
            "rock-the-steering/rim-play",
            "rock-the-steering/wander-felt",
        ),
        ("helper",),
        ("raised-car",),
        {"steering": ("rack",)},
        ("common-practice",),
    )


def test_a_finding_is_seen_or_not() -> None:
    assert LIBRARY.findings["rock-the-steering/end-moves"] == Finding(
        "rock-the-steering/end-moves",
        "rock-the-steering",
        "the rod end moves",
        ("yes",),
        (0.04,),
        (Link("rod-end-play", "fault", (0.85,)),),
        where="each-front-corner",
        unfit="The joint is about to part.",
        source=("common-practice",),
    )


def test_a_graded_finding_has_a_floor_for_grades_that_are_not_named() -> None:
    assert LIBRARY.findings["rock-the-steering/how-stiff"] == Finding(
        "rock-the-steering/how-stiff",
        "rock-the-steering",
        "how stiff it is",
        ("stiff", "very stiff"),
        (0.1, FLOOR),
        (
            Link("rod-end-tight", "fault", (0.5, 0.3)),
            Link("loose-steering", "mechanism", (FLOOR, 0.01)),
        ),
        none="easy",
        source=("demo-book",),
    )
    assert FLOOR == 1e-3


def test_a_reading_takes_its_grades_from_its_limits() -> None:
    assert LIBRARY.findings["rock-the-steering/rim-play"] == Finding(
        "rock-the-steering/rim-play",
        "rock-the-steering",
        "free play at the rim",
        ("past the feel limit", "past the inspection limit"),
        (0.06, 0.01),
        (Link("rod-end-play", "fault", (0.5, 0.25)),),
        none="inside all limits",
        reading=Reading(
            "length",
            "mm",
            (
                Limit(8, "past the feel limit", ("common-practice",)),
                Limit(13, "past the inspection limit", ("demo-book",)),
            ),
        ),
        source=("common-practice",),
    )


def test_a_reading_may_fall_and_name_its_first_band() -> None:
    draft, problems = compiled(
        edited(
            ("checks.yaml", "unit: mm", "unit: mm\n          direction: under\n          below: enough"),
            (
                "checks.yaml",
                "{at: 8, name: past the feel limit, source: common-practice}",
                "{at: 20, name: little}",
            ),
            ("checks.yaml", "false-alarm: [0.06, 0.01]", "false-alarm: {little: 0.06}"),
        )
    )
    assert problems == []
    finding = draft.library.findings["rock-the-steering/rim-play"]
    assert finding.reading is not None
    assert (finding.reading.direction, finding.reading.below, finding.none) == ("under", "enough", "enough")
    assert finding.reading.limits[0] == Limit(20, "little", ("common-practice",))  # that of the check
    assert finding.false_alarm == (0.06, FLOOR)


def test_a_repeating_finding_has_a_hit_and_no_links() -> None:
    assert LIBRARY.findings["rock-the-steering/wander-felt"] == Finding(
        "rock-the-steering/wander-felt",
        "rock-the-steering",
        "it wanders here too",
        ("yes",),
        (0.05,),
        repeats="wander",
        hit=0.9,
        source=("common-practice",),
    )


def test_how_far_a_report_is_trusted() -> None:
    """Two figures where they are given, else those of any complaint."""
    edit = ("wander.yaml", "  says: [wanders", "  heard: [0.9, 0.01]\n  says: [wanders")
    wander = compiled(edited(edit))[0].library.complaints["wander"]
    assert (wander.heard, wander.felt) == ((0.9, 0.01), FELT)
    assert LIBRARY.complaints["wander"].heard == HEARD


def test_a_complaint_with_any_and_at_least() -> None:
    loose = Gate(
        "any",
        1,
        (Leaf("rod-end-play", 0.45),),
        id="loose-steering",
        name="the steering is loose",
        source=("estimate",),
    )
    two = Gate(
        "at-least",
        2,
        (Leaf("tyres-soft", 0.5, "front"), Leaf("tyres-soft", 0.5, "rear"), Leaf("rod-end-tight", 0.2)),
        id="two-soft",
        name="two of three soft places",
        leak=0.01,
        strength=0.9,
        source=("estimate",),
    )
    assert LIBRARY.complaints["wander"] == Complaint(
        "wander",
        "Wanders",
        Gate("any", 1, (loose, two), leak=0.03, source=("estimate",)),
        "needs small corrections",
        "course",
        ("wanders", "weaves"),
        questions=("ask-tyres",),
        source=("estimate",),
    )
    assert LIBRARY.mechanisms == {"loose-steering": loose, "two-soft": two}


def test_a_sided_complaint_with_all_and_a_use() -> None:
    assert LIBRARY.complaints["pull"] == Complaint(
        "pull",
        "Pulls to one side",
        Gate(
            "all",
            3,
            (
                Leaf("tyres-soft", 0.5),
                Leaf("rod-end-tight", 0.3, "this-side"),
                Use("loose-steering", 0.8),
            ),
            leak=0.05,
            source=("estimate", "demo-book"),
        ),
        sided=True,
        source=("estimate", "demo-book"),
    )


def test_branches_may_fit_some_layouts() -> None:
    library = compiled(
        edited(
            (
                "pull.yaml",
                "{cause: tyres-soft, strength: 0.5}",
                "{cause: tyres-soft, strength: 0.5, fits: {steering: box}}",
            ),
            ("pull.yaml", "strength: 0.8}", "strength: 0.8, fits: {steering: [rack, box]}}"),
            ("wander.yaml", "      strength: 0.9\n", "      strength: 0.9\n      fits: {steering: rack}\n"),
        )
    )[0].library
    soft, _, loose = library.complaints["pull"].top.branches
    assert (soft.fits, loose.fits) == ({"steering": ("box",)}, {"steering": ("rack", "box")})
    assert library.mechanisms["two-soft"].fits == {"steering": ("rack",)}


# places ---------------------------------------------------------------------------------------


def test_rows_carry_the_place_where_they_are_written() -> None:
    assert LIBRARY.parts["rod-end"].place == Place("parts.yaml", 2, 5)
    assert LIBRARY.faults["tyres-soft"].place == Place("parts.yaml", 26, 9)
    assert LIBRARY.findings["rock-the-steering/how-stiff"].links[1].place == Place("checks.yaml", 36, 11)
    assert LIBRARY.complaints["pull"].top.branches[2].place == Place("pull.yaml", 10, 7)


def test_a_draft_leads_back_to_every_value() -> None:
    place = LIBRARY.findings["rock-the-steering/rim-play"].place
    node = DRAFT.at(place, "reading", "limits", 1, "at")
    assert isinstance(node, Scalar)
    assert (node.text, node.place) == ("13", Place("checks.yaml", 46, 20))
    assert DRAFT.at(place, "reading", "limits", 2) is None
    assert DRAFT.at(place, "reading", "colour") is None
    assert DRAFT.at(place, 0) is None
    assert DRAFT.at(Place("other.yaml", 1, 1), "id") is None


def test_a_value_alone_is_the_first_of_its_list() -> None:
    place = LIBRARY.remedies["renew-rod-end"].place
    assert DRAFT.at(place, "follow-ups", 0) == DRAFT.at(place, "follow-ups")


def test_a_problem_without_a_value_points_at_the_id_or_names_the_place_alone() -> None:
    place = LIBRARY.checks["ask-tyres"].place
    assert DRAFT.problem(place, ("fits",), "w", "m").place == Place("checks.yaml", 2, 9)
    assert DRAFT.problem(Place("x.yaml"), ("fits",), "w", "m").place == Place("x.yaml")


# laying over ----------------------------------------------------------------------------------


def test_the_same_id_replaces_and_a_new_id_adds() -> None:
    over = {"mine.yaml": "tools:\n  - {id: helper, name: two helpers}\n  - {id: rope, name: a rope}\n"}
    draft, problems = compiled(SMALL, over)
    assert problems == []
    assert draft.library.tools == {"helper": "two helpers", "rope": "a rope"}


def test_a_check_that_is_replaced_takes_its_findings_with_it() -> None:
    over = {
        "mine.yaml": """\
checks:
  - id: ask-tyres
    name: ask
    set-up: talk
    minutes: 1
    how: Ask.
    source: estimate
    findings:
      - {id: soft, name: soft, points-to: {tyres-soft: 0.5}, false-alarm: 0.1}
"""
    }
    draft, problems = compiled(SMALL, over)
    assert problems == []
    assert draft.library.checks["ask-tyres"].findings == ("ask-tyres/soft",)
    assert "ask-tyres/long-ago" not in draft.library.findings


def test_a_fault_can_be_replaced_alone_and_the_others_of_its_part_stay() -> None:
    over = {
        "mine.yaml": """\
parts:
  - id: rod-end
    name: rod end
    where: front
    faults:
      - {id: rod-end-tight, name: seized, chance: 0.2, remedy: renew-rod-end, source: estimate}
"""
    }
    draft, problems = compiled(SMALL, over)
    assert [problem.place.file for problem in problems] == []
    faults = draft.library.faults
    assert (faults["rod-end-tight"].chance, faults["rod-end-tight"].fits) == (0.2, {})
    # What stays follows the part as it now is.
    assert (faults["rod-end-play"].where, faults["rod-end-play"].fits) == ("front", {})
    assert faults["rod-end-play"].life == Life(2.2, km=380_000)


def test_a_complaint_that_is_replaced_takes_its_mechanisms_with_it() -> None:
    over = {
        "mine.yaml": """\
complaint:
  id: pull
  name: Pulls
  leak: 0.1
  source: estimate
  any:
    - mechanism: mine
      name: my own
      any: [{cause: tyres-soft, strength: 0.5}]
"""
    }
    draft, problems = compiled(SMALL, over)
    assert problems == []
    assert set(draft.library.mechanisms) == {"loose-steering", "two-soft", "mine"}
    assert not draft.library.complaints["pull"].sided


def test_a_later_change_replaces_one_below_in_either_order() -> None:
    over = {"mine.yaml": "changes:\n  - {between: [wheels-off, lift], minutes: 1}\n"}
    draft, problems = compiled(SMALL, over)
    assert problems == []
    assert draft.library.changes["lift", "wheels-off"] == 1
    assert draft.library.changes["wheels-off", "lift"] == 1


def test_a_fault_whose_part_is_wrong_is_left_out_without_a_crash() -> None:
    over = {"mine.yaml": "parts:\n  - {id: rod-end, name: x, where: nowhere, faults: []}\n"}
    draft, problems = compiled(SMALL, over)
    assert {problem.place.file for problem in problems} == {"mine.yaml"}
    assert set(draft.library.faults) == {"tyres-soft"}


# set-ups --------------------------------------------------------------------------------------

TALK = SetUp("talk", "talking", 0, 0)
LIFT = SetUp("lift", "on a lift", 6, 3)
OFF = SetUp("off", "wheels off", 12, 8)
RIG = SetUp("rig", "on the rig", 16, 6)


def test_without_a_direct_way_one_is_left_and_the_other_entered() -> None:
    assert minutes_between([TALK, LIFT, OFF], {}) == {
        ("talk", "talk"): 0,
        ("talk", "lift"): 6,
        ("talk", "off"): 12,
        ("lift", "talk"): 3,
        ("lift", "lift"): 0,
        ("lift", "off"): 15,
        ("off", "talk"): 8,
        ("off", "lift"): 14,
        ("off", "off"): 0,
    }


def test_a_direct_way_opens_shorter_ways_over_it() -> None:
    minutes = minutes_between([TALK, LIFT, OFF, RIG], {("lift", "off"): 5, ("off", "lift"): 5})
    assert minutes["lift", "off"] == 5
    assert minutes["talk", "off"] == 6 + 5  # over the lift, not 12 straight
    assert minutes["off", "talk"] == 8  # straight and over the lift are the same
    assert minutes["off", "rig"] == 8 + 16
    assert minutes["rig", "off"] == 6 + 6 + 5


def test_a_slow_direct_way_is_not_taken() -> None:
    minutes = minutes_between([TALK, LIFT], {("talk", "lift"): 60, ("lift", "talk"): 60, ("x", "lift"): 1})
    assert minutes["talk", "lift"] == 60  # nothing else leads there
    three = minutes_between([TALK, LIFT, OFF], {("lift", "off"): 60, ("off", "lift"): 60})
    assert three["lift", "off"] == 3 + 12  # over talk


def test_no_way_round_is_shorter_than_the_way_given() -> None:
    minutes = LIBRARY.changes
    names = list(LIBRARY.set_ups)
    assert set(minutes) == {(one, other) for one in names for other in names}
    for one in names:
        for over in names:
            for other in names:
                assert minutes[one, other] <= minutes[one, over] + minutes[over, other]


# whole ----------------------------------------------------------------------------------------


def test_the_digest_is_handed_through() -> None:
    assert build(gather([], []), "abc").library.digest == "abc"


def test_places_are_no_part_of_what_a_library_is() -> None:
    moved, _ = compiled({f"other-{name}": "# moved\n" + text for name, text in SMALL.items()})
    assert moved.library == LIBRARY
    assert moved.library.tools == compiled({"tables.yaml": TABLES})[0].library.tools
    assert replace(LIBRARY, digest="x") != LIBRARY
