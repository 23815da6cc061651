"""The rows of what laws and inspections allow, and their look-up."""

from __future__ import annotations

import math

import pytest

from diagnose.errors import InputError
from diagnose.geometry.limits import LIMITS, Limit, limits_of
from diagnose.geometry.readings import imbalance
from diagnose.geometry.steering import play_angle, scaled_play

INCH = 0.0254


def only(quantity: str, jurisdiction: str, size: float | None = None, document: str = "") -> Limit:
    (row,) = [row for row in limits_of(quantity, jurisdiction, size) if document in row.document]
    return row


@pytest.mark.parametrize(
    ("rim", "play"), [(15.0, 1 / 4), (16.0, 1 / 4), (17.5, 3 / 8), (18.0, 3 / 8), (19.5, 1 / 2)]
)
def test_linkage_play_by_rim(rim: float, play: float) -> None:
    """49 CFR 570.60(b), Table 3."""
    row = only("linkage play at the tyre", "US", rim * INCH, "570.60")
    assert row.value == play
    assert row.si == play * INCH
    # For cars there is one figure.
    assert only("linkage play at the tyre", "US", rim * INCH, "570.7(b)").value == 1 / 4


@pytest.mark.parametrize(
    ("wheel", "lash"), [(14, 2), (16, 2), (17, 2), (18, 2.25), (19, 2.25), (20, 2.5), (22, 2.75), (24, 2.75)]
)
def test_lash_by_wheel(wheel: float, lash: float) -> None:
    """49 CFR 570.7(a), Table 1; between its rows the stricter one (own choice)."""
    assert only("steering wheel play", "US", wheel * INCH, "570.7(a)").value == lash


@pytest.mark.parametrize(("wheel", "lash"), [(18, 4.75), (19, 5.0), (20, 5.25), (21, 5.5), (22, 5.75)])
def test_power_steering_rows_are_thirty_degrees(wheel: float, lash: float) -> None:
    """49 CFR 393.209(b), from memory; the angle is arithmetic."""
    (row,) = [
        row
        for row in limits_of("steering wheel play", "US", wheel * INCH)
        if row.applies.endswith("power steering")
    ]
    assert row.value == lash
    assert row.status == "from memory"
    assert math.degrees(play_angle(row.si, wheel * INCH)) == pytest.approx(30.1, abs=0.2)


def test_two_texts_differ_for_the_smallest_wheel() -> None:
    """Federal 4 1/4 in (memory; fits the 30 degrees of all other rows), Utah 4 1/2 in (seen)."""
    found = {
        row.jurisdiction: row.value
        for state in ("US", "US-UT")
        for row in limits_of("steering wheel play", state, 16 * INCH)
        if row.applies == "commercial, power steering"
    }
    assert found == {"US": 4.25, "US-UT": 4.5}


def test_the_european_example_is_a_fifth_of_the_wheel() -> None:
    """Directive 2014/45/EU, Annex I, 2.3, from memory; the British 75 mm is the same, rounded."""
    row = only("steering wheel play", "EU")
    assert row.at(0.380) * 1000 == pytest.approx(76.0, abs=1e-12)
    assert row.keeps(0.0759, 0.380)
    assert row.keeps(0.0760, 0.380)
    assert not row.keeps(0.0761, 0.380)
    (box,) = [row for row in limits_of("steering wheel play", "GB") if row.applies == "steering box"]
    assert row.at(0.380) == pytest.approx(box.si, rel=0.02)


@pytest.mark.parametrize("diameter", [0.35, 0.38, 0.40])
def test_british_rows_grow_with_the_wheel(diameter: float) -> None:
    """MOT manual (2012) 2.2: given for 380 mm."""
    rows = limits_of("steering wheel play", "GB")
    assert sorted(row.value for row in rows) == [13.0, 48.0, 75.0]
    for row in rows:
        assert row.at(diameter) == pytest.approx(scaled_play(row.si, 0.380, diameter), rel=1e-12)


def test_runout_of_an_eighth_of_an_inch() -> None:
    """49 CFR 570.10(b): more than 3.175 mm is out."""
    row = only("wheel runout at the bead", "US")
    assert row.si * 1000 == pytest.approx(3.175, abs=1e-12)
    assert row.keeps(0.003175)
    assert not row.keeps(0.0031751)


def test_least_and_most() -> None:
    """Construction and Use Regulations 1986 reg. 27, at second hand; 49 CFR 570.62(a)."""
    (tread,) = [row for row in limits_of("tread depth", "GB") if row.applies.startswith("cars")]
    assert not tread.keeps(0.0015)
    assert tread.keeps(0.0016)
    assert tread.keeps(0.0080)
    front, other = (row.si * 1000 for row in limits_of("tread depth", "US") if "570.62" in row.document)
    assert (front, other) == pytest.approx((3.175, 1.5875))


def test_a_limit_said_as_a_share_of_the_other_side() -> None:
    """Directive 2014/45/EU, Annex I, 1.2.1, from memory: below 70 %, below 50 % dangerous."""
    major, dangerous = limits_of("brake imbalance", "EU")
    assert (major.value, dangerous.value) == (30.0, 50.0)
    assert major.keeps(imbalance(71.0, 100.0))
    assert not major.keeps(imbalance(69.0, 100.0))
    assert dangerous.keeps(imbalance(69.0, 100.0))


def test_angles_come_out_in_radians() -> None:
    """Russian list of faults, 2.1 (10, 20, 25 deg); GB 7258 at second hand (15, 25, 35)."""
    assert [row.si for row in limits_of("steering wheel play", "RU")] == pytest.approx(
        [math.radians(each) for each in (10, 20, 25)]
    )
    assert [row.value for row in limits_of("steering wheel play", "CN")] == [15.0, 25.0, 35.0]


def test_side_slip() -> None:
    """Japanese inspection standard, quoted on two pages; GB 7258 from memory."""
    assert {row.jurisdiction: row.si for row in limits_of("side slip")} == {"CN": 5.0, "JP": 5.0}


def test_none_is_the_default() -> None:
    """Each of these has several answers, and a look-up without a jurisdiction gives them all."""
    for quantity in ("steering wheel play", "tread depth", "brake imbalance", "adhesion difference"):
        assert len({row.jurisdiction for row in limits_of(quantity)}) > 1
    assert limits_of("side slip", "US") == ()


def test_every_row_says_where_it_stands() -> None:
    for row in LIMITS:
        assert row.document
        assert row.status in ("seen", "second hand", "from memory")
        assert row.value > 0.0
        assert row.si > 0.0
    keys = [(row.quantity, row.jurisdiction, row.document, row.applies, row.size_from) for row in LIMITS]
    assert len(keys) == len(set(keys))


def test_every_table_by_size_covers_the_smallest_wheel() -> None:
    tables: dict[tuple[str, str, str, str], list[float]] = {}
    for row in LIMITS:
        if row.size_from is not None:
            tables.setdefault((row.quantity, row.jurisdiction, row.document, row.applies), []).append(
                row.size_from
            )
    for sizes in tables.values():
        assert sizes == sorted(sizes)
        assert sizes[0] == 0.0


def test_messages() -> None:
    with pytest.raises(InputError) as error:
        limits_of("tread")
    assert str(error.value).startswith(
        "there is no quantity with limits 'tread': there are adhesion difference, ball"
    )
    with pytest.raises(InputError) as error:
        limits_of("side slip", "Mars")
    assert str(error.value) == (
        "there is no jurisdiction with limits 'Mars': there are AU, CN, EU, GB, IE, JP, NL, RU, UN, US, "
        "US-MD, US-NC, US-OH, US-UT, US-WA, trade"
    )
    with pytest.raises(InputError) as error:
        limits_of("steering wheel play", "GB")[0].keeps(0.05)
    assert str(error.value) == ("this limit goes by the size of the steering wheel: measure its diameter too")
    with pytest.raises(InputError, match="side slip must be a number to be held against a limit"):
        limits_of("side slip", "JP")[0].keeps(math.nan)
    with pytest.raises(InputError, match="the size must be a number from 100 to 1000 mm, not 16000"):
        limits_of("steering wheel play", "US", 16.0)
    with pytest.raises(InputError, match="the steering wheel's diameter must be"):
        limits_of("steering wheel play", "EU")[0].at(38.0)


@pytest.mark.parametrize(
    ("document", "printed"),
    [
        ("49 CFR 570.5", {"brake imbalance": [25]}),
        ("49 CFR 570.59(a)(1)", {"brake imbalance": [25]}),
        ("49 CFR 570.60, Table 2", {"steering wheel play": [2, 2.25, 2.5, 2.75]}),
        ("49 CFR 570.7(d)", {"toe over the maker's figure": [1.5]}),
        ("49 CFR 570.60(d)", {"toe over the maker's figure": [1.5]}),
        ("49 CFR 570.8(b)", {"cycles after a push": [2]}),
        ("49 CFR 570.9", {"tread depth": [0.0625]}),
        (
            "49 CFR 393.209(b)",
            {"steering wheel play": [2, 2.25, 2.375, 2.5, 2.625, 2.75, 4.25, 4.75, 5, 5.25, 5.5, 5.75]},
        ),
        (
            "R714-162-9(1)(a)(i)",
            {"steering wheel play": [4.5, 4.75, 5, 5.25, 5.5, 5.75, 2, 2.25, 2.375, 2.5, 2.625, 2.75]},
        ),
        ("RCW 46.37.375(2)", {"steering wheel play": [2, 2.25, 2.5, 2.75]}),
        ("RCW 46.37.375(3)", {"linkage play at the tyre": [0.25]}),
        ("RCW 46.37.375(7)", {"toe over the maker's figure": [1.5]}),
        ("OAC 4501:2-1-05(B)", {"steering wheel play": [2, 3]}),
        ("19A NCAC 03D .0535", {"steering wheel play": [3, 4]}),
        (
            "COMAR 11.22.03.04",
            {
                "steering wheel play": [3, 3.5],
                "bearing play at the tyre": [0.125],
                "difference from centre to either lock": [0.5],
                "tyre clearance at lock": [1],
            },
        ),
        ("COMAR 11.22.03.03", {"sag of one corner": [2], "torsion bar mount play": [0.125]}),
        ("COMAR 11.22.04.06", {"tread depth": [0.0625]}),
        ("Directive 89/459/EEC", {"tread depth": [1.6]}),
        ("MOT manual (2012) 2.5", {"king pin play at the rim": [10]}),
        ("SI 1986/1078 reg. 27", {"tread depth": [1.6, 1.0], "cut in a tyre": [25]}),
        ("SI 1986/1078 as amended 2021", {"tyre age": [10]}),
        ("national car test, a newspaper's page", {"adhesion difference": [30]}),
        ("periodic inspection, a garage's page", {"ball joint play": [1]}),
        ("inspection practice", {"tread depth": [1.6]}),
        ("a motoring page", {"tread depth": [1.5]}),
        ("UN R79, 6.2", {"steering effort": [150, 300]}),
        ("a university's laboratory sheet", {"adhesion difference": [15]}),
        ("a tester builder's remark on a forum", {"adhesion difference": [10]}),
        ("EGEA SPECSUS2018, CITA report of May 2019", {"damper phase shift": [35]}),
    ],
)
def test_the_other_documents_figures(document: str, printed: dict[str, list[float]]) -> None:
    """Each as its document prints it; the status in the row says whether that text was seen."""
    found: dict[str, list[float]] = {}
    for row in LIMITS:
        if row.document == document:
            found.setdefault(row.quantity, []).append(row.value)
    assert found == printed


@pytest.mark.parametrize(
    ("jurisdiction", "inches", "play"),
    [("US-NC", 18, 3), ("US-NC", 19, 4), ("US-MD", 20.9, 3), ("US-MD", 21, 3.5)],
)
def test_states_by_wheel(jurisdiction: str, inches: float, play: float) -> None:
    """19A NCAC 03D .0535: 3 in up to 18; COMAR 11.22.03.04: 3.5 in at 21 and above."""
    assert only("steering wheel play", jurisdiction, inches * INCH).value == play
