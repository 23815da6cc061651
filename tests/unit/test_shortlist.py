"""Which checks are looked at exactly: bits about the culprit, by hand."""

from __future__ import annotations

import math

import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.choice.lookahead import candidates_of
from diagnose.choice.shortlist import bits_told, promising
from diagnose.library.shelf import load
from diagnose.model.story import Heard, Story, Workshop
from diagnose.model.vehicle import Vehicle
from tests.small_cars import VEHICLE, Look, Row, library_of

#: Demo: checks that show one fault, two, or none better than another.
LOOKS = {
    "sharp": Look("ground", 5.0, 0.02, {"one": 0.9}),
    "both": Look("ground", 5.0, 0.1, {"one": 0.5, "two": 0.8}),
    "dear": Look("ground", 50.0, 0.01, {"one": 0.95, "two": 0.9}),
    "idle": Look("ground", 5.0, 0.1, {}),
}
LIBRARY = library_of(
    {"cure": (1.0, 50.0)},
    {"one": Row("cure", 0.2, 0.9), "two": Row("cure", 0.1, 0.6), "three": Row("cure", 0.05, 0.3)},
    LOOKS,
    0.02,
)


def believed() -> Belief:
    return Belief(Car(LIBRARY, VEHICLE, {"noise": None}), Story(VEHICLE, (Heard("noise"),)))


def entropy(p: float) -> float:
    return -sum(q * math.log2(q) for q in (p, 1.0 - p) if q > 0.0)


def mutual_information(belief: Belief, look: Look) -> float:
    """Shannon's: the entropy of what is seen, less what is left of it once the culprit is known; one culprit,
    or something not listed, which shows no more than the false alarm."""
    blame = {cause.fault: float(p) for cause, p in zip(belief.causes, belief.to_blame, strict=True)}
    blame["something else"] = belief.outside
    total = sum(blame.values())
    seen = {each: 1.0 - (1.0 - look.alarm) * (1.0 - look.shows.get(each, 0.0)) for each in blame}
    mixed = sum(p / total * seen[each] for each, p in blame.items())
    return entropy(mixed) - sum(p / total * entropy(seen[each]) for each, p in blame.items())


def test_bits_are_the_mutual_information_of_culprit_and_finding() -> None:
    belief = believed()
    candidates = candidates_of(belief.car, belief.story, Workshop(), ())
    bits = dict(zip((check.id for check, _ in candidates), bits_told(belief, candidates), strict=True))
    # What tells of no cause is no candidate.
    assert set(bits) == LOOKS.keys() - {"idle"}
    for name in bits:
        look = LOOKS[name]
        assert bits[name] == pytest.approx(mutual_information(belief, look), rel=1e-9)
    # Asked in another order and number they are the same.
    again = bits_told(belief, candidates[::-1][:2])
    assert list(again) == pytest.approx([bits[check.id] for check, _ in candidates[::-1][:2]], rel=1e-12)


def test_half_are_those_that_tell_most_a_minute_and_half_those_that_tell_most() -> None:
    belief = believed()
    candidates = candidates_of(belief.car, belief.story, Workshop(), ())
    assert {check.id for check, _ in promising(belief, candidates, "ground", 2)} == {"sharp", "dear"}
    assert promising(belief, candidates, "ground", 3) == candidates


def test_what_would_spoil_the_others_is_always_looked_at() -> None:
    """Wrong tyre pressures tell little of the culprit, and would make every later check doubtful."""
    vehicle = Vehicle(facts={}, km=214_000.0, years=14)
    shipped = load()
    belief = Belief(Car(shipped, vehicle, {"floaty-rear": None}), Story(vehicle, (Heard("floaty-rear"),)))
    candidates = candidates_of(belief.car, belief.story, Workshop(), ())
    short = [check.id for check, _ in promising(belief, candidates, "talk", 4)]
    assert len(short) == 5
    assert "set-tyre-pressures" in short
