"""The part of a fault tree that matters for a job: the ways up from the suspects, and what was ruled out.

The tree is that of `drawing.picture`, twice: once with what the complaint alone makes of this car, once with
all that was seen. What is of no weight in either is left out; what was ruled out as a whole is one row.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from diagnose.belief.belief import Belief
from diagnose.drawing.believed import marks_of
from diagnose.drawing.picture import Box, Place, picture
from diagnose.sheet.material import Material
from diagnose.sheet.pictures import State, Way
from diagnose.words import SHOWN, of_100, stands, stands_words

__all__ = ["all_of", "first_word", "ways_of"]

#: Rows under the complaint, and under any other gate, the weightiest: more share a row, so that the picture
#: can be taken in.
MOST, MOST_BELOW = 10, 6

_ORDER = {"leads": 0, "open": 1, "done": 1, "out": 2}


def first_word(brought: Belief) -> Belief:
    """What the complaint alone makes of the car, before anything was looked at."""
    return Belief(brought.car, replace(brought.story, seen=(), rounds=()))


def ways_of(material: Material, complaint: str, before: Belief, now: Belief) -> Way:
    """The tree of a complaint from the top down, with what matters of it."""
    was = picture(material.library, complaint, marks_of(before, complaint, ""))
    is_ = picture(material.library, complaint, marks_of(now, complaint, ""))
    belief = material.verdict.belief
    done = frozenset(belief.causes[number].id for number in belief.car.cured)
    top = _Finder(material, done).gate(was, is_)
    return replace(top, kind="complaint", state="leads", figure=f"there {of_100(is_.on or 0.0)}")


def all_of(way: Way) -> Iterator[Way]:
    """The row and every row below it, the top first."""
    yield way
    for each in way.below:
        yield from all_of(each)


@dataclass(frozen=True)
class _Finder:
    material: Material
    done: frozenset[str]

    def gate(self, was: Box, is_: Box) -> Way:
        """A gate with those of its branches that matter, the weightiest first."""
        found = [way for pair in zip(was.branches, is_.branches, strict=True) for way in self._branch(*pair)]
        found.sort(key=lambda way: (way.kind == "leak", _ORDER[way.state], -_weight(way), way.name))
        most = MOST if is_.kind == "complaint" else MOST_BELOW
        below = tuple(found) if len(found) <= most else (*found[: most - 1], _rest(found[most - 1 :]))
        if not is_.name or was.on is None or is_.on is None:
            # A gate without a name: what is under it acts together, or in one of several ways.
            name = "any of these" if is_.gate == "any" else "these together"
            return Way("gate", is_.name or name, _common(below), gate=_together(is_), below=below)
        return Way("mechanism", is_.name, *_figures(was.on, is_.on), _together(is_), below)

    def _branch(self, was: Box, is_: Box) -> Iterator[Way]:
        if is_.kind == "fault":
            yield from self._fault(was, is_)
        elif is_.kind == "leak":
            # Only the leak of the whole tree has a figure.
            if was.on is not None and is_.on is not None and max(was.on, is_.on) >= SHOWN:
                yield Way("leak", is_.name, *_figures(was.on, is_.on))
        elif is_.gate:
            way = self.gate(was, is_)
            if way.below:
                yield _folded(way)

    def _fault(self, was: Box, is_: Box) -> Iterator[Way]:
        """The places of a fault that matter; mates that stand alike share a row."""
        first = {place.cause: place.blame for place in was.places or ()}
        alike: dict[str, list[tuple[Place, Way]]] = {}
        for place in is_.places or ():
            before = first.get(place.cause, 0.0)
            if max(before, place.blame) < SHOWN:
                continue
            name = self.material.cause(place.cause)
            way = Way("fault", name, *_figures(before, place.blame))
            if place.cause in self.done:
                way = replace(way, state="done", figure=way.figure.rpartition(":")[0] + ": put right since")
            alike.setdefault(way.figure, []).append((place, way))
        for mates in alike.values():
            name = " and ".join([mates[0][1].name, *(place.name for place, _ in mates[1:])])
            yield replace(mates[0][1], name=name)


def _figures(was: float, is_: float) -> tuple[State, float, float, str]:
    """How it stands, the figures, and `49, at first 9: leads to it`, of 100 such cars."""
    figure = f"{of_100(is_)}, at first {of_100(was)}: {stands_words(was, is_)}"
    return stands(was, is_), was, is_, figure


def _common(below: Sequence[Way]) -> State:
    """Ruled out where all of it is; else open."""
    return "out" if below and all(each.state == "out" for each in below) else "open"


def _folded(way: Way) -> Way:
    """What is ruled out with all that stands under it, as one row."""
    if way.kind != "mechanism" or any(each.state != "out" for each in all_of(way)):
        return way
    many = sum(each.kind == "fault" for each in all_of(way))
    under = "with the cause under it" if many == 1 else f"with all {many} causes under it"
    return replace(way, figure=f"{way.figure}, {under}", below=())


def _rest(ways: Sequence[Way]) -> Way:
    """Several rows as one: how many, and how likely the likeliest of them is."""
    most = max(map(_weight, ways))
    state = _common(ways)
    out = ", as good as ruled out" if state == "out" else f", none above {of_100(most)}"
    return Way("rest", f"{len(ways)} more{out}", state)


def _weight(way: Way) -> float:
    """What a row weighs now; a gate without a name as much as the heaviest under it."""
    return way.now if way.now is not None else max(map(_weight, way.below), default=0.0)


def _together(box: Box) -> str:
    """How many of its branches it takes; nothing where any one of them is enough."""
    return "" if box.gate == "any" or not box.name else f"{box.gate_words.lower()} these"
