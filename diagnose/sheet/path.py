"""The way through the fault tree: which branches lead to the complaint, and which were ruled out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from diagnose.belief.belief import Belief
from diagnose.model.complaint import Gate, Leaf, Use
from diagnose.sheet.material import Material
from diagnose.sheet.page import Branch, Branches, Listed, Mark, Paragraph, Section
from diagnose.words import of_100

__all__ = ["path"]

#: A branch is shown that was behind the complaint in this share of such cars once, or is now.
SHOWN = 0.04

#: Ruled out: it stood at `SHOWN` at least and fell to this part of that or less, and below this share.
FELL, BELOW = 1.0 / 3.0, 0.03

#: From this share on a branch is said to lead to the complaint.
LEADS = 0.3

#: Ruled-out causes named in the list, and how deep the drawing goes.
NAMED, DEEPEST = 10, 4


def path(material: Material) -> Section | None:
    """The part of each complaint's tree that matters, and the causes that were ruled out; None before any
    answer. It shows the car as it was brought."""
    before, now = material.history[0].belief if material.history else None, material.brought
    if before is None or len([then for then in material.history if not then.moment.story.rounds]) < 2:
        return None
    view = _View(material, before, now)
    tops = []
    for complaint in now.car.complaints:
        tree = material.library.complaints[complaint]
        below = tuple(view.branches(tree.top, complaint, frozenset(), 1))
        tops.append(Branch(tree.name, f"there in {of_100(_there(now, complaint))} of 100", below=below))
    fallen = view.fallen()
    blocks: list[Paragraph | Branches | Listed] = [
        Paragraph(
            "Under each branch stands what can bring it about. Figures are of 100 such cars: by the "
            "first word "
            "alone, then by all that was seen of the car as it was brought. Of a branch they tell that it is "
            "there, of a cause that it is to blame.",
            "small",
        ),
        Branches(tuple(tops)),
    ]
    if fallen:
        blocks += [Paragraph("As good as ruled out by what was seen:"), Listed(tuple(fallen))]
    return Section("path", "The way through the fault tree", tuple(blocks))


def _there(belief: Belief, complaint: str) -> float:
    return belief.complaint(complaint) if complaint in belief.car.tops else 0.0


@dataclass(frozen=True)
class _View:
    material: Material
    before: Belief
    now: Belief

    def branches(self, gate: Gate, complaint: str, above: frozenset[str], depth: int) -> Iterator[Branch]:
        """The branches of a gate that matter, the weightiest first."""
        found: list[tuple[float, Branch]] = []
        for each in gate.branches:
            if isinstance(each, Leaf):
                found += self._leaf(each)
                continue
            inner = self.material.library.mechanisms.get(each.mechanism) if isinstance(each, Use) else each
            if inner is None or inner.id in above or depth >= DEEPEST:
                continue
            below = tuple(self.branches(inner, complaint, above | {inner.id}, depth + 1))
            if not below:
                continue
            was, is_ = (belief.mechanisms.get(inner.id, 0.0) for belief in (self.before, self.now))
            if inner.id in self.now.mechanisms:
                found.append((is_, Branch(inner.name, *_figure(was, is_, "there in "), below)))
            else:
                # A gate without a name: what is under it acts together, or in one of several ways.
                found.append(
                    (1.0, Branch("any of these" if inner.need == 1 else "these together", below=below))
                )
        yield from (branch for _, branch in sorted(found, key=lambda item: -item[0]))

    def _leaf(self, leaf: Leaf) -> Iterator[tuple[float, Branch]]:
        for number, cause in enumerate(self.now.causes):
            if cause.fault == leaf.fault:
                was, is_ = _both(self, cause.id, number)
                if max(was, is_) >= SHOWN:
                    yield is_, Branch(self.material.cause(cause.id), *_figure(was, is_))

    def fallen(self) -> list[str]:
        """Causes ruled out, the likeliest before first."""
        rows = []
        for number, cause in enumerate(self.now.causes):
            was, is_ = _both(self, cause.id, number)
            if _ruled_out(was, is_):
                told = f"{self.material.cause(cause.id)}: {of_100(was)} of 100 at first, {of_100(is_)} now"
                rows.append((was, told))
        rows.sort(key=lambda row: (-row[0], row[1]))
        more = len(rows) - NAMED
        return [told for _, told in rows[:NAMED]] + ([f"and {more} more"] if more > 0 else [])


def _both(view: _View, cause: str, number: int) -> tuple[float, float]:
    """P(to blame) by the first word, and now."""
    index = {each.id: n for n, each in enumerate(view.before.causes)}
    was = float(view.before.to_blame[index[cause]]) if cause in index else 0.0
    return was, float(view.now.to_blame[number])


def _ruled_out(was: float, is_: float) -> bool:
    return was >= SHOWN and is_ < BELOW and is_ <= was * FELL


def _figure(was: float, is_: float, behind: str = "") -> tuple[str, Mark]:
    """`12 of 100, then 63: leads to it`."""
    mark: Mark = ""
    word = "still open"
    if _ruled_out(was, is_):
        word, mark = "as good as ruled out", "quiet"
    elif is_ >= LEADS:
        word, mark = "leads to it", "bad"
    elif is_ >= 1.5 * was + 0.01:
        word = "likelier than at first"
    elif is_ * 1.5 + 0.01 <= was:
        word = "less likely than at first"
    return f"{behind}{of_100(was)} of 100, then {of_100(is_)}: {word}", mark
