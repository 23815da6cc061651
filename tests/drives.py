"""Debriefs to try things on: an invented car, marked demo, and drives drawn at random."""

from __future__ import annotations

from hypothesis import strategies as st

from diagnose.debrief.drive import PRESSURES, REFERENCES, ROADS, SIDES, Drive, Impression, Leg, leg_of
from diagnose.debrief.read import read_drive
from diagnose.debrief.route import ROUTE
from diagnose.model.story import ANSWERS
from tests.shipped import LIBRARY

#: Demo: an invented car before the work on it.
DEMO = """\
debrief: 1
car: demo hatchback, invented
when: 3 May, morning
who: A
km: 143200
pressures: set
load: driver and one passenger
weather: still air
road: dry
reference: none
legs:
  - leg: straight
    noticed:
      - words: needs small corrections all the time
        complaint: wander
        rating: 4
        began: from 80 km/h
  - leg: rough
    noticed:
      - {words: clunk from the front, complaint: front-clunk-over-bumps, rating: strong}
      - {words: the glove box squeaks, complaint: none}
  - leg: braking
  - {leg: parking, surface: gravel}
"""

#: The same invented car after it.
AFTER = """\
debrief: 1
car: demo hatchback, invented
when: 4 May, morning
who: A
km: 143230
pressures: set
load: driver and one passenger
weather: still air
road: dry
reference: same-car-before
legs:
  - leg: straight
    noticed:
      - {words: wanders a little, complaint: wander, rating: 8}
  - leg: braking
    noticed:
      - {words: pulls left when braking, complaint: pulls-when-braking, side: left, rating: 6.5}
"""


def drive_in(text: str) -> Drive:
    """The drive of a file with this text."""
    return read_drive(LIBRARY, text.encode(), "demo.yaml")


def drive_of(*legs: Leg, **more: object) -> Drive:
    """A drive of these legs, all else as it should be for a comparison."""
    known = {"who": "A", "pressures": "set", "load": "driver", "road": "dry", "reference": "good-car"}
    return Drive(legs=legs, **(known | more))  # type: ignore[arg-type]


def felt(
    kind: str, complaint: str, rating: float | None = None, answer: str = "", side: str | None = None
) -> Leg:
    """A leg of this kind on which one complaint was noticed."""
    return leg_of(kind, (Impression("it does", complaint, side, rating, answer),))


# Drawn at random --------------------------------------------------------------------------------------

#: A few complaints are enough for two drives to meet.
NAMES = ("wander", "pull-to-one-side", "front-clunk-over-bumps", "vague-steering", "heavy-steering")
SIDED = tuple(name for name in NAMES if LIBRARY.complaints[name].sided)

ratings = st.integers(2, 20).map(lambda halves: halves / 2.0)
texts = st.text(max_size=30)


@st.composite
def impressions(draw: st.DrawFn) -> Impression:
    complaint = draw(st.sampled_from((None, *NAMES)))
    side = draw(st.sampled_from((None, *SIDES))) if complaint in SIDED else None
    rated = draw(st.booleans())
    words = draw(texts) if complaint else "words: " + draw(texts)
    return Impression(
        words,
        complaint,
        side,
        draw(ratings) if rated else None,
        "" if rated else draw(st.sampled_from(("", *ANSWERS))),
        draw(texts),
    )


@st.composite
def legs(draw: st.DrawFn) -> Leg:
    kind = draw(st.sampled_from(tuple(ROUTE)))
    leg = leg_of(kind, tuple(draw(st.lists(impressions(), max_size=3))))
    if draw(st.booleans()):
        low = draw(st.integers(0, 120))
        return Leg(kind, "cobbles", low, draw(st.integers(low, 200)), leg.manoeuvre, leg.noticed)
    return leg


drives = st.builds(
    Drive,
    car=texts,
    when=texts,
    who=st.sampled_from(("", "A", "B")),
    km=st.none() | st.integers(0, 3_000_000).map(float),
    pressures=st.sampled_from(PRESSURES),
    load=st.sampled_from(("", "driver", "full")),
    weather=texts,
    road=st.sampled_from(ROADS),
    reference=st.sampled_from(tuple(REFERENCES)),
    legs=st.lists(legs(), max_size=4).map(tuple),
)
