"""The way through the fault tree: which branches lead to the complaint, and which were ruled out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.belief.belief import Belief
from diagnose.sheet.material import Material
from diagnose.sheet.page import Block, Branch, Branches, Figure, Listed, Mark, Paragraph, Section
from diagnose.sheet.pictures import State, Way, Ways
from diagnose.sheet.svg_ways import pieces
from diagnose.sheet.ways import all_of, first_word, ways_of
from diagnose.words import of_100, stands

__all__ = ["path", "ruled_out"]

#: Ruled-out causes named in the list; of the picture's description, of each kind.
NAMED, DESCRIBED = 10, 4

#: How a row is marked in the list.
_MARKS: dict[State, Mark] = {"leads": "bad", "open": "", "out": "quiet", "done": "good"}


def path(material: Material) -> Section | None:
    """The part of each complaint's tree that matters, and the causes that were ruled out; None before any
    answer. It shows the car as it was brought."""
    if not _answered(material):
        return None
    now = material.brought
    before = first_word(now)
    tops = [ways_of(material, complaint, before, now) for complaint in now.car.complaints]
    blocks = [
        *_out(material, before),
        Paragraph(_MEANING, "small"),
        *_figures(tops),
        Branches(tuple(map(_branch, tops)), "The same as a list"),
    ]
    return Section("path", "The way through the fault tree", tuple(blocks))


_MEANING = (
    "Under each row stands what can bring it about; any one of these is enough, where it does not say "
    "otherwise. Figures are of 100 such cars: by all that was seen of the car as it was brought, and at "
    "first, by the complaint alone. Of a branch they tell that it is there, of a cause that it is to blame."
)

_KEY = (
    "Disc: leads to the complaint. Ring: still open. Cross and struck: as good as ruled out. Diamond: put "
    "right since. The thicker the line, the likelier; the mark across a bar is where it stood at first."
)


def _figures(tops: Sequence[Way]) -> Iterator[Block]:
    """A picture of each tree, in parts where it is long; the key to the marks stands under the first."""
    for top in tops:
        parts = pieces(top)
        for number, part in enumerate(parts, start=1):
            which = f"Part {number} of {len(parts)}." if len(parts) > 1 else ""
            title = f"The way through the fault tree: {top.name}. {which}".rstrip(" .")
            key = _KEY if number == 1 and top is tops[0] else ""
            caption = f"{which} {key}".strip() or f"{top.name}: the same marks."
            yield Figure(Ways(title, _described(part), part), caption)


def _out(material: Material, before: Belief) -> Iterator[Block]:
    """What was ruled out, as a list."""
    fallen = [
        f"{name}: {of_100(was)} of 100 at first, {of_100(is_)} now"
        for name, was, is_ in _fallen(material, before)
    ]
    if fallen:
        more = len(fallen) - NAMED
        listed = fallen[:NAMED] + ([f"and {more} more"] if more > 0 else [])
        yield Paragraph("As good as ruled out by what was seen:")
        yield Listed(tuple(listed))


def ruled_out(material: Material) -> list[str]:
    """Names of the causes that were as good as ruled out, the likeliest at first before the others."""
    if not _answered(material):
        return []
    return [name for name, _, _ in _fallen(material, first_word(material.brought))]


def _answered(material: Material) -> bool:
    """True if anything was told of the car as it was brought besides the complaint."""
    return len([then for then in material.history if not then.moment.story.rounds]) > 1


def _fallen(material: Material, before: Belief) -> list[tuple[str, float, float]]:
    """Causes ruled out: name, P(to blame) at first and now. Mates that stand alike share a row."""
    now = material.brought
    alike: dict[tuple[str, str, str], list[tuple[str, float, float]]] = {}
    for cause, was, is_ in zip(now.causes, before.to_blame, now.to_blame, strict=True):
        if stands(float(was), float(is_)) == "out":
            key = (cause.fault, of_100(float(was)), of_100(float(is_)))
            alike.setdefault(key, []).append((cause.id, float(was), float(is_)))
    found = [
        (
            " and ".join([material.cause(mates[0][0]), *(material.place(each) for each, _, _ in mates[1:])]),
            was,
            is_,
        )
        for mates in alike.values()
        for _, was, is_ in mates[:1]
    ]
    return sorted(found, key=lambda row: (-row[1], row[0]))


def _branch(way: Way) -> Branch:
    """A row of the tree as one of a list."""
    figure = "; ".join(text for text in (way.figure, way.gate) if text)
    mark = "" if way.kind == "complaint" else _MARKS[way.state]
    return Branch(way.name, figure, mark, tuple(map(_branch, way.below)))


def _described(top: Way) -> str:
    """The picture in words: what leads to the complaint, what is open, what was ruled out."""
    said = [f"Of 100 such cars {top.figure}."]
    for state, words in (("leads", "Leading to it"), ("open", "Still open"), ("out", "As good as ruled out")):
        names = [way.name for way in _causes(top) if way.state == state]
        if names:
            more = f" and {len(names) - DESCRIBED} more" if len(names) > DESCRIBED else ""
            said.append(f"{words}: {'; '.join(names[:DESCRIBED])}{more}.")
    return " ".join(said)


def _causes(top: Way) -> Iterator[Way]:
    """The rows at the ends of the ways."""
    return (way for way in all_of(top) if way is not top and not way.below and way.kind != "rest")
