"""A value of a sheet in the units of the workshop: degrees, degrees and minutes, or toe in millimetres."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.angles.sheet import Units
from diagnose.errors import InputError
from diagnose.geometry.toe import toe_length
from diagnose.geometry.typed import decimal_degrees, degrees_minutes

__all__ = ["Shown"]

#: The values that are toe, and so can be a length.
_TOES = ("toe", "total-toe", "toe-to-thrust")


@dataclass(frozen=True, slots=True)
class Shown:
    """How values are shown. toe_at: diameter for toe in millimetres (m), where it is known."""

    units: Units = "minutes"
    toe_at: float | None = None
    ascii_only: bool = False

    def angle(self, value: float, angle: str = "", plus: bool = True) -> str:
        """An angle (rad); toe as a length where the units are mm and the diameter is known."""
        if self.units == "mm" and angle in _TOES and self.toe_at is not None:
            halves = 2.0 if angle == "total-toe" else 1.0
            try:
                return _signed(toe_length(value / halves, self.toe_at) * halves * 1000.0, 1, plus) + " mm"
            except InputError:
                pass  # no such toe fits the diameter: it is told as an angle
        if self.units == "degrees":
            return decimal_degrees(value, plus=plus) + ("" if self.ascii_only else "°")
        return degrees_minutes(value, plus=plus, ascii_only=self.ascii_only)

    def length(self, value: float, plus: bool = True) -> str:
        """A length (m) in millimetres."""
        return _signed(value * 1000.0, 1 if abs(value) < 0.1 else 0, plus) + " mm"

    def value(self, value: float, angle: str, plus: bool = True) -> str:
        """A value by its name: a length for heights and set-back lengths, an angle for the rest."""
        if angle == "height":
            return self.length(value, plus=False)
        return (
            self.length(value, plus)
            if angle in ("set-back-length", "crab")
            else self.angle(value, angle, plus)
        )


def _signed(value: float, places: int, plus: bool) -> str:
    text = f"{abs(value):.{places}f}"
    sign = "" if float(text) == 0.0 else "-" if value < 0.0 else "+" if plus else ""
    return sign + text
