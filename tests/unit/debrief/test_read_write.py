"""A debrief as a file: both ways, all mistakes at once, and whatever somebody feeds it."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.debrief.drive import Drive, Impression, leg_of, neat
from diagnose.debrief.read import parse_speed, read_data, read_drive
from diagnose.debrief.write import drive_data, drive_yaml
from diagnose.errors import DebriefError, InputError
from tests.drives import AFTER, DEMO, LIBRARY, drive_in, drives, texts


def told(text: str) -> list[str]:
    """The problems of a file, each as `line:column: wrong | mend`."""
    with pytest.raises(DebriefError) as found:
        drive_in(text)
    return [f"{one.place.line}:{one.place.column}: {one.wrong} | {one.mend}" for one in found.value.problems]


def test_the_demo_reads() -> None:
    drive = drive_in(DEMO)
    assert (drive.car, drive.km, drive.road) == ("demo hatchback, invented", 143200.0, "dry")
    assert [leg.kind for leg in drive.legs] == ["straight", "rough", "braking", "parking"]
    assert drive.legs[0].noticed == (
        Impression("needs small corrections all the time", "wander", None, 4.0, "", "from 80 km/h"),
    )
    clunk, squeak = drive.legs[1].noticed
    assert (clunk.rating, squeak.complaint) == (3.0, None)
    assert drive.legs[2] == leg_of("braking")
    assert (drive.legs[3].surface, drive.legs[3].manoeuvre) == ("gravel", leg_of("parking").manoeuvre)


def test_what_is_left_out_is_unknown_or_usual() -> None:
    assert drive_in("debrief: 1\nlegs: []") == Drive()


def test_words_without_a_complaint_are_taken_for_the_nearest() -> None:
    text = "debrief: 1\nlegs: [{leg: straight, noticed: [{words: wanders all over the road}]}]"
    assert drive_in(text).legs[0].noticed[0].complaint == "wander"
    none = text.replace("the road}", "the road, complaint: none}")
    assert drive_in(none).legs[0].noticed[0].complaint is None
    assert drive_in(text.replace("wanders all over the road", "xyzzy")).legs[0].noticed[0].complaint is None


def test_all_mistakes_at_once_each_with_its_place_and_mend() -> None:
    assert told(
        """\
debrief: 1
pressures: sett
kms: 4
legs:
  - leg: streight
    speed: 90-60
  - leg: rough
    speed: fast
    noticed:
      - {rating: 6}
      - {words: clonk, complaint: front-clunk-over-bump, rating: 12}
      - {complaint: wander, side: left, felt: maybe}
      - {complaint: wander, rating: 10, felt: yes}
      - {complaint: wander, rating: 6, felt: no}
      - {complaint: wander, rating: loud}
"""
    ) == [
        "2:12: 'pressures' must be one of unknown, set, not-set, not 'sett' | did you mean 'set'?",
        "3:1: a debrief has no key 'kms' | did you mean 'km'?",
        "5:10: 'leg' must be one of straight, undulating, bend-power, bend-lift, roundabout, braking, rough, "
        "parking, crosswind, not 'streight' | did you mean 'straight'?",
        "6:12: the speed runs from 90 down to 60 | write the lower one first",
        "8:12: 'fast' is not a speed | write km/h like 60-90 or 80",
        "10:10: an impression needs 'words' or 'complaint', or both | add 'words' or 'complaint'",
        "11:35: there is no complaint 'front-clunk-over-bump' | did you mean 'front-clunk-over-bumps'?",
        "11:66: 12 is not on the scale | write 1 (not acceptable) to 10 (imperceptible), in halves",
        "12:29: complaint 'wander' has no side | delete the line with `side`",
        "12:47: 'felt' must be one of yes, probably, cannot-tell, probably-not, no, not 'maybe' | "
        "write one of: yes, probably, cannot-tell, probably-not, no",
        "13:41: rated 10 (imperceptible) and felt: yes exclude each other | keep one of them; the rating "
        "alone says no",
        "14:40: rated 6 (moderate) and felt: no exclude each other | keep one of them; the rating "
        "alone says yes",
        "15:37: 'loud' is not a rating | write 1 to 10 such as 6 or 6.5, or a word of the scale such as "
        "moderate or annoying",
    ]


def test_a_message_points_into_the_file() -> None:
    with pytest.raises(DebriefError) as found:
        drive_in("debrief: 1\nlegs:\n  - leg: straight\n    speed: 400")
    assert str(found.value) == (
        "demo.yaml:4:12: 400 km/h is not a speed of a road test\n"
        "    4 |     speed: 400\n"
        "      |            ^^^\n"
        "    mend: write km/h like 60-90"
    )


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("", "0:0: the file is empty"),
        ("legs: []", "1:1: a debrief needs 'debrief'"),
        ("debrief: 2\nlegs: []", "1:10: 'debrief' must be"),
        ("- 1", "1:1: the file must be a debrief (keys with values), not a list"),
        ("debrief: 1\nlegs: straight", "2:7: 'legs' must be"),
        (
            "debrief: 1\nlegs: [straight]",
            "2:8: an entry of 'legs' must be a leg (keys with values), not 'straight'",
        ),
        ("debrief: 1\nlegs: [{leg: rough}]\nlegs: []", "3:1: the key 'legs' stands here twice"),
        ("debrief: 1\nlegs: [{leg: !!python/name:os.system rough}]", "2:14: the tag"),
        ("debrief: 1\nwho: &a [*a]\nlegs: []", "2:10: the alias '*a' stands inside"),
        ('debrief: 1\nwho: "a\\x1b[31m"\nlegs: []', "2:6: an escape in this text gives the control"),
        ("debrief: 1\n\tlegs: []", "2:1: a tab stands here"),
        ("debrief: 1\nwho: " + 201 * "x" + "\nlegs: []", "2:6: 'who' has 201 characters, more than 200"),
        ("debrief: 1\nkm: nan\nlegs: []", "2:5: 'km' must be a number"),
        ("debrief: 1\nlegs: [" + 61 * "{leg: rough}," + "]", "2:7: "),
        ("debrief: 1\nlegs: " + 40 * "[" + 40 * "]", "2:"),
    ],
)
def test_hostile_or_broken_files_are_refused_in_words(text: str, wrong: str) -> None:
    first = told(text)[0]
    assert wrong in first or first.startswith(wrong)


@settings(max_examples=40, deadline=None)
@given(st.binary(max_size=80) | st.text(max_size=80).map(lambda text: f"debrief: 1\nlegs: {text}".encode()))
def test_whatever_is_fed_it_reads_or_says_what_is_wrong(data: bytes) -> None:
    try:
        drive = read_drive(LIBRARY, data, "x.yaml")
    except DebriefError as error:
        assert error.problems and all(one.mend for one in error.problems)
    else:
        assert read_drive(LIBRARY, drive_yaml(drive).encode(), "y.yaml") == drive


# There and back --------------------------------------------------------------------------------------


def kept(drive: Drive) -> Drive:
    """The drive with its texts as a file keeps them."""

    def text(of: object, *names: str) -> dict[str, str]:
        return {name: neat(getattr(of, name)) for name in names}

    legs = tuple(
        replace(leg, noticed=tuple(replace(one, **text(one, "words", "began")) for one in leg.noticed))
        for leg in drive.legs
    )
    return replace(drive, legs=legs, **text(drive, "car", "when", "weather"))


@settings(max_examples=40, deadline=None)
@given(drives)
def test_a_drive_comes_back_from_yaml_and_from_json(drive: Drive) -> None:
    wanted = kept(drive)
    assert drive_in(drive_yaml(drive, "Demo.\nTwo lines.")) == wanted
    data = drive_data(drive)
    assert read_data(LIBRARY, json.loads(json.dumps(data))) == wanted


@settings(max_examples=40, deadline=None)
@given(texts | st.text(alphabet="\t\n\r\x1b\x85\u2028\ufeff'\"\\#:{}[] ", max_size=300))
def test_any_text_is_kept_on_one_line_without_control_characters(text: str) -> None:
    found = neat(text)
    assert found.isprintable() and len(found) <= 200
    assert neat(found) == found


@pytest.mark.parametrize("text", [DEMO, AFTER])
def test_what_is_written_is_meant_for_people(text: str) -> None:
    """Written out, the demo has the same lines, but for its mappings in braces."""
    out = drive_yaml(drive_in(text))
    for line in ("debrief: 1", 'car: "demo hatchback, invented"', "pressures: set", "  - leg: straight"):
        assert line in out.splitlines()
    assert "unknown" not in out and "surface: smooth" not in out and "speed" not in out
    assert max(map(len, out.splitlines())) <= 80
    assert re.search(r"^        complaint: wander\n        rating: \d$", out, re.MULTILINE)


@pytest.mark.parametrize(
    ("text", "speeds"),
    [
        ("60-90", (60, 90)),
        ("60 to 90 km/h", (60, 90)),
        ("80", (80, 80)),
        ("62,5 – 90", (62.5, 90)),
        ("0-10", (0, 10)),
    ],
)
def test_speeds_as_they_are_typed(text: str, speeds: tuple[float, float]) -> None:
    assert parse_speed(text) == speeds


@pytest.mark.parametrize("text", ["", "60 mph", "60-90-120", "-60", "60-", "1e2", "٦٠"])
def test_what_is_no_speed_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="is not a speed: write km/h like"):
        parse_speed(text)
