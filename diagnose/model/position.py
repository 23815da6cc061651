"""Where a part sits on the car: corners, axles, sides, the centre."""

from __future__ import annotations

from functools import lru_cache

from diagnose.words import place_name

__all__ = [
    "CORNERS",
    "POSITIONS",
    "WHERE",
    "axle_of",
    "mates",
    "meets",
    "mirror",
    "other_side",
    "side_of",
    "told_place",
]

CORNERS = ("front-left", "front-right", "rear-left", "rear-right")
POSITIONS = (*CORNERS, "front", "rear", "left", "right", "centre")

#: What a `where:` in the trees expands to, in the order in which it is shown.
WHERE: dict[str, tuple[str, ...]] = {
    "each-front-corner": ("front-left", "front-right"),
    "each-rear-corner": ("rear-left", "rear-right"),
    "each-corner": CORNERS,
    "each-side": ("left", "right"),
    "each-axle": ("front", "rear"),
    **{position: (position,) for position in POSITIONS},
}


def side_of(position: str) -> str | None:
    """`left`, `right`, or None for a position that is on no side."""
    for side in ("left", "right"):
        if position == side or position.endswith(f"-{side}"):
            return side
    return None


def told_place(where: str, position: str) -> str:
    """The position in words, as the name of a fault needs it: `front right`; "" where a part has one place,
    which its own name says. where: all its places, as the trees give them."""
    one = len(WHERE.get(where, ())) < 2 and not side_of(position) and "-" not in position
    return "" if one else place_name(position)


def axle_of(position: str) -> str | None:
    """`front`, `rear`, or None for a position that is on no axle."""
    for axle in ("front", "rear"):
        if position == axle or position.startswith(f"{axle}-"):
            return axle
    return None


@lru_cache(maxsize=1000)  # a car has nine positions, and every model asks of all pairs, many times
def meets(one: str | None, other: str | None) -> bool:
    """True unless the two positions contradict each other in side or axle (None meets all)."""
    if one is None or other is None:
        return True
    for of in (side_of, axle_of):
        first, second = of(one), of(other)
        if first is not None and second is not None and first != second:
            return False
    return True


def other_side(side: str) -> str:
    """`right` for `left` and the reverse. Raises KeyError for anything else."""
    return {"left": "right", "right": "left"}[side]


def mirror(position: str | None) -> str | None:
    """The same place on the other side of the car; unchanged where there is no side."""
    if position is None:
        return None
    side = side_of(position)
    return position if side is None else position.removesuffix(side) + other_side(side)


def mates(one: str, other: str) -> bool:
    """True if the two positions are left and right of the same axle."""
    return one != other and mirror(one) == other
