"""What a linkage does to camber: by ride height, by a moved pivot or bent arm; and what made a camber seen.

In front view, one wheel, for struts and double wishbones. Every fault is taken at the ride height that is
said (`travel` 0: as drawn), for that is where alignment is read; the spring has to give for it.
Signs: camber top out positive (ISO 8855), travel of the wheel up positive (own), see the package.
"""

from __future__ import annotations

from typing import Literal

from diagnose.errors import InputError
from diagnose.geometry.plane import Point, root_near
from diagnose.geometry.pose import SOUND, Change, Pose, degrees, millimetres
from diagnose.geometry.ranges import an_angle, length
from diagnose.geometry.strut import Strut
from diagnose.geometry.wishbone import DoubleWishbone

__all__ = ["Linkage", "Where", "camber_change", "camber_per_travel", "moved", "movement_for_camber", "solve"]

Linkage = Strut | DoubleWishbone

#: What may have moved: a pivot or top mount outwards, or an arm's length.
Where = Literal["lower pivot", "upper pivot", "lower arm", "upper arm"]

#: Steps and bounds of the search: the arm by a degree up to 60, a movement by a millimetre up to 80.
ARM_STEP, ARM_MOST = 0.0175, 1.05
MOVE_STEP, MOVE_MOST = 0.001, 0.080

#: Half the way over which a slope is taken (m).
SLOPE_OVER = 1e-4


def solve(linkage: Linkage, change: Change = SOUND, travel: float = 0.0) -> Pose:
    """How the wheel stands when its centre is `travel` (m) higher against the body than drawn.

    Travel within 0.3 m. Raises InputError where the linkage does not reach that far or cannot close.
    """
    height = linkage.centre.z + length(travel, "travel of the wheel", -0.3, 0.3)
    turn = root_near(lambda turn: linkage.pose(turn, change).centre.z - height, ARM_STEP, ARM_MOST)
    if turn is None:
        raise InputError(f"the linkage does not reach {millimetres(travel)} of travel: give less")
    return linkage.pose(turn, change)


def camber_change(linkage: Linkage, change: Change = SOUND, travel: float = 0.0) -> float:
    """Camber (rad) more than drawn, after a change and at a travel (m); top out positive (ISO 8855)."""
    return solve(linkage, change, travel).camber - linkage.camber


def camber_per_travel(linkage: Linkage, change: Change = SOUND, travel: float = 0.0) -> float:
    """Camber gained for each metre that the wheel goes up against the body, or the car goes down (rad/m).

    1 rad/m is 0.057 deg/mm. Source: slope of the linkage; equals 1 over the distance to the instant centre.
    """
    one = solve(linkage, change, travel + SLOPE_OVER)
    other = solve(linkage, change, travel - SLOPE_OVER)
    return (one.camber - other.camber) / (2.0 * SLOPE_OVER)


def moved(where: Where, by: float) -> Change:
    """The change of one thing: a pivot outwards, or an arm longer, by so much (m)."""
    if where == "lower pivot":
        return Change(lower=Point(by, 0.0))
    if where == "upper pivot":
        return Change(upper=Point(by, 0.0))
    return Change(lower_arm=by) if where == "lower arm" else Change(upper_arm=by)


def movement_for_camber(linkage: Linkage, where: Where, change: float, travel: float = 0.0) -> float:
    """How far (m) one thing must have moved to change camber by `change` (rad) at this ride height.

    where: "lower pivot" and "upper pivot" (of a strut: its top mount) outwards positive; "lower arm" and
    "upper arm" longer positive, for a bent arm or a worn joint. Camber top out positive (ISO 8855).
    Raises InputError where no movement up to 80 mm does it.
    """
    wanted = solve(linkage, SOUND, travel).camber + an_angle(change, "the change of camber", 20.0)
    found = root_near(
        lambda by: solve(linkage, moved(where, by), travel).camber - wanted, MOVE_STEP, MOVE_MOST
    )
    if found is None:
        raise InputError(
            f"no movement of the {where} up to {millimetres(MOVE_MOST)} changes camber by {degrees(change)}: "
            "look for more than one fault, or at the reading"
        )
    return found
