"""Every value against what is allowed, in words."""

from __future__ import annotations

import pytest

from diagnose.angles.judge import Judgement, judged
from diagnose.angles.mirror import mirrored
from diagnose.angles.sheet import Sheet, Spot
from tests.examples import often
from tests.sheets import deg, sheet_of, sheets

ALLOWED = """
specification:
  front:
    camber: {low: -1°20', high: 0°20', cross: 0°30', adjustable: no}
    toe: {low: 0°00', high: 0°20', adjustable: yes}
  rear:
    thrust: {low: -0°15', high: 0°15'}
"""


def of(sheet: Sheet, spot: Spot, general: bool = False) -> Judgement:
    return next(each for each in judged(sheet, general=general) if each.spot == spot)


def camber(text: str) -> Judgement:
    return of(sheet_of(f"front: {{left: {{camber: {text}}}}}{ALLOWED}"), Spot("front", "left", "camber"))


@pytest.mark.parametrize(
    ("text", "verdict", "words"),
    # Own arithmetic; near is within 0.1 degrees = 6' (common practice).
    [
        ("-1°45'", "out", "0°25' past the most negative allowed"),
        ("-1°27'", "out", "0°07' past the most negative allowed"),
        ("-1°25'", "near", "0°05' past the most negative allowed"),
        ("-1°20'", "near", "right at the most negative allowed"),
        ("-1°15'", "near", "0°05' short of the most negative allowed"),
        ("-1°13'", "in", "within what is allowed"),
        ("0°13'", "in", "within what is allowed"),
        ("0°14'", "near", "0°06' short of the most positive allowed"),
        ("0°30'", "out", "0°10' past the most positive allowed"),
    ],
)
def test_a_value_in_words(text: str, verdict: str, words: str) -> None:
    found = camber(text)
    assert (found.verdict, found.words) == (verdict, words)
    assert found.adjustable is False
    assert found.fixed == (verdict == "out")


def test_past_is_nothing_inside() -> None:
    assert camber("-1°13'").past == 0.0
    assert camber("-1°45'").past == pytest.approx(deg(0, 25), abs=1e-9)


def test_a_missing_value_with_a_limit_is_missing_and_one_without_limit_has_no_figure() -> None:
    sheet = sheet_of(f"front: {{left: {{camber: 0, caster: 4}}}}{ALLOWED}")
    assert of(sheet, Spot("front", "right", "camber")).verdict == "missing"
    assert of(sheet, Spot("front", "left", "caster")).verdict == "no figure"
    assert all(each.spot != Spot("front", "right", "caster") for each in judged(sheet))


def test_the_difference_is_judged_by_the_permitted_one() -> None:
    sheet = sheet_of(f"front: {{left: {{camber: -1}}, right: {{camber: 0}}}}{ALLOWED}")
    found = of(sheet, Spot("front", "", "cross-camber"))
    assert (found.verdict, found.words) == ("out", "0°30' past the largest difference allowed")
    # Left less right.
    assert found.value == pytest.approx(deg(-1.0), abs=1e-9)


@pytest.mark.parametrize(
    ("limits", "front", "spot", "verdict"),
    # Own arithmetic: totals and differences repeat within both wheels' together, thrust within half of that.
    [
        ("front: {total-toe: {high: 0}}", "right: {toe: 5.9'}, left: {toe: 0}", "total-toe", "near"),
        ("front: {total-toe: {high: 0}}", "right: {toe: 6.1'}, left: {toe: 0}", "total-toe", "out"),
        ("front: {camber: {cross: 0}}", "right: {camber: 11.9'}, left: {camber: 0}", "cross-camber", "near"),
        ("front: {camber: {cross: 0}}", "right: {camber: 12.1'}, left: {camber: 0}", "cross-camber", "out"),
        ("front: {caster: {cross: 0}}", "right: {caster: 17.9'}, left: {caster: 0}", "cross-caster", "near"),
        ("front: {caster: {cross: 0}}", "right: {caster: 18.1'}, left: {caster: 0}", "cross-caster", "out"),
        ("front: {set-back: {high: 0 mm}}", "set-back: 1.9 mm", "set-back-length", "near"),
        ("front: {set-back: {high: 0 mm}}", "set-back: 2.1 mm", "set-back-length", "out"),
        ("rear: {thrust: {high: 0}}", "", "thrust", "near"),
    ],
)
def test_how_near_is_near(limits: str, front: str, spot: str, verdict: str) -> None:
    rear = "rear: {left: {toe: 5.9'}, right: {toe: 0}}"
    sheet = sheet_of(f"front: {{{front}}}\n{rear}\nspecification: {{{limits}}}")
    assert of(sheet, Spot("rear" if spot == "thrust" else "front", "", spot)).verdict == verdict


def test_thrust_past_its_limit_names_the_side() -> None:
    sheet = sheet_of(f"rear: {{left: {{toe: 0°30'}}, right: {{toe: -0°30'}}}}{ALLOWED}")
    assert of(sheet, Spot("rear", "", "thrust")).words == "0°15' past the furthest to the right allowed"


def test_set_back_is_judged_once_in_the_unit_of_its_limit() -> None:
    limits = "specification: {front: {set-back: {low: -6 mm, high: 6 mm}}}"
    by_angle = sheet_of(f"car: {{front-track: 1500 mm}}\nfront: {{set-back: 0.5}}\n{limits}")
    found = [each for each in judged(by_angle) if each.spot.angle.startswith("set-back")]
    # Own arithmetic: 1500 tan 0.5 = 13.09 mm.
    assert [(each.verdict, each.words) for each in found] == [
        ("out", "7.1 mm past the largest set-back on the right allowed")
    ]


@pytest.mark.parametrize("angle", ["camber", "caster"])
def test_common_practice_is_asked_for_and_names_its_source(angle: str) -> None:
    # Half a degree: two teaching texts and an alignment glossary.
    sheet = sheet_of(f"front: {{left: {{{angle}: 2}}, right: {{{angle}: 1}}}}")
    spot = Spot("front", "", f"cross-{angle}")
    assert of(sheet, spot).verdict == "no figure"
    found = of(sheet, spot, general=True)
    assert found.verdict == "out"
    assert "0°30' past the largest difference allowed of common practice: t" in found.words
    assert found.source.startswith("common practice: t")


def test_the_cars_own_limit_outranks_common_practice() -> None:
    sheet = sheet_of(
        "front: {left: {camber: 2}, right: {camber: 1}}\nspecification: {front: {camber: {cross: 1°30'}}}"
    )
    found = of(sheet, Spot("front", "", "cross-camber"), general=True)
    assert (found.verdict, found.source) == ("in", "specification")


def test_a_stated_repeatability_moves_near() -> None:
    sheet = sheet_of(f"front: {{left: {{camber: -1°25'}}}}\nrepeatability: {{camber: 0°01'}}{ALLOWED}")
    assert of(sheet, Spot("front", "left", "camber")).verdict == "out"


@often(20, 60, sheets())
def test_a_mirror_mirrors_every_verdict(sheet: Sheet) -> None:
    other = {"left": "right", "right": "left", "": ""}
    found = {each.spot: each for each in judged(sheet, general=True)}
    image = {each.spot: each for each in judged(mirrored(sheet), general=True)}
    assert len(found) == len(image)
    for spot, one in found.items():
        there = image[Spot(spot.axle, other[spot.side], spot.angle)]
        assert (there.verdict, there.adjustable) == (one.verdict, one.adjustable), spot
        assert (there.past is None) == (one.past is None)
        if one.past is not None:
            assert there.past == pytest.approx(one.past, abs=1e-12)
