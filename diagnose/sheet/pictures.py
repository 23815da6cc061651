"""The pictures of a sheet as data: what they show, in figures and words. `svg_*` draw them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

__all__ = ["Line", "Lines", "Picture", "State", "Step", "Steps", "Way", "Ways", "Wheel", "Wheels"]

#: How a row of a fault tree stands: it leads to the complaint, is open, is out (as good as), was put right.
State = Literal["leads", "open", "out", "done"]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a picture: its name and a value in 0..1 at each point, None where it has none yet."""

    name: str
    values: tuple[float | None, ...]

    @property
    def last(self) -> float:
        """The value at the last point; 0 where there is none."""
        return (self.values[-1] if self.values else None) or 0.0


@dataclass(frozen=True, slots=True)
class Lines:
    """How likely a few things were, over the answers. points: what was told at each, in order."""

    title: str
    description: str
    points: tuple[str, ...]
    lines: tuple[Line, ...]

    def __post_init__(self) -> None:
        for line in self.lines:
            if len(line.values) != len(self.points):
                raise ValueError(f"{line.name}: {len(line.values)} values at {len(self.points)} points")


@dataclass(frozen=True, slots=True)
class Step:
    """Money spent (0 or more), how it is written, and P(the complaint is gone) from then on."""

    name: str
    money: float
    shown: str
    gone: float


@dataclass(frozen=True, slots=True)
class Steps:
    """The chance of a cure against the money spent: stages that follow one another, and other ways beside
    them."""

    title: str
    description: str
    steps: tuple[Step, ...]
    others: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True)
class Wheel:
    """A wheel from above. toe, camber: radians, None where not measured. lines: its values in words, each
    with whether it is out of its range (`out`), close to a limit (`near`), or neither ("")."""

    name: str
    toe: float | None
    camber: float | None
    lines: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Wheels:
    """A car from above, front at the top. wheels: front left, front right, rear left, rear right. thrust:
    radians to the right, None where it is not known; thrust_words says it."""

    title: str
    description: str
    wheels: tuple[Wheel, ...]
    thrust: float | None = None
    thrust_words: str = ""
    lines: tuple[str, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class Way:
    """A row of a fault tree: what can bring about the row that it stands under.

    kind: `complaint`, `mechanism`, `gate` (one without a name), `fault`, `leak` (what the tree does not list)
    or `rest` (several rows as one). was, now: P in 0..1 by the complaint alone, and by all that was seen;
    None where it has no figure. figure: both, and how it stands, in words. gate: how many of the rows below
    it takes, in words; empty where any one of them is enough.
    """

    kind: Literal["complaint", "mechanism", "gate", "fault", "leak", "rest"]
    name: str
    state: State = "open"
    was: float | None = None
    now: float | None = None
    figure: str = ""
    gate: str = ""
    below: tuple[Way, ...] = ()


@dataclass(frozen=True, slots=True)
class Ways:
    """Part of a fault tree from the top down: the ways to the complaint, and those that were ruled out."""

    title: str
    description: str
    top: Way


Picture = Lines | Steps | Wheels | Ways
