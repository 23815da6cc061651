"""`diagnose shake`: what it shows, and what it says to what it cannot use."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

import diagnose
from diagnose.cli import run

TYRE = ("--tyre", "205/55 R16")
Tell = Callable[..., tuple[int, str, str]]


@pytest.fixture
def tell(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Tell:
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("TERM", "dumb")

    def call(*arguments: str) -> tuple[int, str, str]:
        code = run(["shake", *arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        assert "--json" in arguments or all(len(line) <= 80 for line in out.splitlines())
        return code, " ".join(out.split()), err

    return call


def test_one_reading(tell: Tell) -> None:
    code, out, _ = tell("--speed", "110", "--frequency", "14.6", *TYRE)
    assert code == 0
    assert "Measured: 14.6 Hz at 110 km/h; speed by speedometer, 20 s recorded." in out
    assert "once per wheel turn 14.9 14.6 -2 % 100 fits" in out
    assert "Once per wheel turn fits best: 14.9 Hz expected." in out
    assert "Next: Read it again at another speed: at 90 km/h what goes with road speed comes down" in out
    assert "Caution: Only with a car fit to drive" in out
    assert "a passenger reads and writes, never the driver" in out


def test_three_readings(tell: Tell) -> None:
    code, out, _ = tell("--at", "90:12.1", "--at", "110:14.6", "--at", "130:17.3", *TYRE, "--drive", "front")
    assert code == 0
    assert "once per wheel turn 12.1, 14.9, 17.6 -1 % 100 fits" in out
    assert "power 0.97 (an order: 1, a resonance: 0): it goes with road speed" in out
    assert "propshaft" not in out


def test_what_is_open_and_what_would_tell(tell: Tell) -> None:
    _, out, _ = tell("--at", "68 mph:31.3:1880", *TYRE, "--final-drive", "2", "--cylinders", "4")
    assert "Not told apart: once per engine turn; twice per wheel turn; once per propshaft turn." in out
    assert "Read it again at another speed: at 55 mph" in out
    assert "Hold the same road speed in another gear: only what turns with the engine moves." in out
    assert "never switch the engine off" in out
    assert "No speed and no gear tells wheel from propshaft here" in out


def test_a_resonance_and_a_ratio_that_would_fit(tell: Tell) -> None:
    _, out, _ = tell("--at", "110:23", "--at", "90:23.1", *TYRE, "--by", "satellite")
    assert "It keeps its frequency at every speed: a resonance fits best." in out
    _, out, _ = tell("--at", "110:61.9", *TYRE, "--by", "satellite", "--rate", "400")
    assert "once per propshaft turn needs one near 3.9" in out


def test_doubts(tell: Tell) -> None:
    _, out, _ = tell("--at", "110:14.6", "--by", "satellite", *TYRE)
    assert "Doubt: As once per wheel turn it lies further off than speed and tyre allow" in out
    _, out, _ = tell("--at", "14.6:110")
    assert "110 Hz at 14.6 km/h: is it the other way round?" in out
    assert "110 Hz is true only if the recorder takes more than 220 samples a second" in out
    assert "The tyre size is not known" in out
    _, out, _ = tell("--at", "110:14.6", "--felt")
    assert "Nobody counts more than about 6 beats a second" in out


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((), "nothing was read: give a frequency and its speed, such as 14.6 Hz at 110 km/h"),
        (("--at", "110"), "--at '110': write speed, colon, frequency, such as --at 110:14.6"),
        (("--at", "110:14.6", "--tyre", "abc"), "'abc' is not a tyre size: write it like"),
        (("--at", "110:60", "--rate", "100"), "shows nothing true above 50 Hz, so 60 Hz is no reading of it"),
        (("--at", "110:14.6", "--gear-ratio", "1"), "a gear ratio needs the final drive ratio with it"),
        (("--at", "0:14.6"), "the speed must be a number from 5 to 350 km/h, not 0"),
        (("--at", "110:14.6", "--by", "stars"), "invalid choice: 'stars'"),
    ],
)
def test_mistakes(tell: Tell, arguments: tuple[str, ...], message: str) -> None:
    code, out, err = tell(*arguments)
    assert (code, out) == (2, "")
    assert message in err


def test_what_fits_alike(tell: Tell) -> None:
    _, out, _ = tell("--at", "110:29.8", "--at", "90:24.3", *TYRE, "--final-drive", "2")
    assert "Twice per wheel turn and once per propshaft turn fit alike: 29.8, 24.3 Hz expected." in out
    assert "Not told apart: twice per wheel turn; once per propshaft turn." in out


def test_json(tell: Tell) -> None:
    code, out, _ = tell("--at", "110:14.6", *TYRE, "--json")
    found = json.loads(out)
    assert (code, found["format"]) == (0, "handling-diagnose/shake/1")
    first = found["candidates"][0]
    assert (first["kind"], first["order"], first["fit"]) == ("wheel", 1.0, 1.0)
    assert first["expected_hz"] == [pytest.approx(14.88, abs=0.01)]
    assert found["shares"]["once per wheel turn"] == 1.0
    page = (Path(diagnose.__file__).parents[1] / "docs" / "json.md").read_text("utf-8")
    part = page[page.index("shake/1`\n") : page.index("## JSON Schema")]
    keys = {*found, *found["readings"][0], *first} - {"format"}
    assert {key for key in keys if not re.search(rf"[`.]{key}[`\[]", part)} == set()
    assert next(iter(found["shares"])) == "no clear peak"
