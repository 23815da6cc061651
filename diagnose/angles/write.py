"""A sheet back to YAML, in a form that reads to the same sheet.

Each value is written as a technician would, `-1°20'`, if that reads to exactly this value; else in the
first of several forms that does, and at last in degrees with nine decimals.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator

from diagnose.angles.entries import kept, read_value
from diagnose.angles.sheet import (
    AXLES,
    SIDES,
    SPECIFIED,
    Allowed,
    Axle,
    Car,
    Repeatability,
    Sheet,
    Sheets,
    Specification,
    Wheel,
)
from diagnose.errors import InputError

__all__ = ["sheet_yaml", "value_text"]


def sheet_yaml(sheets: Sheets | Sheet, head: str = "") -> str:
    """The file as text. head: remarks for its first lines, without #. A Sheet is written under its name."""
    if isinstance(sheets, Sheet):
        sheets = Sheets(
            before=sheets if sheets.when == "before" else None,
            after=sheets if sheets.when == "after" else None,
            car=sheets.car,
            specification=sheets.specification,
            repeatability=sheets.repeatability,
        )
    car = sheets.car
    lines = [f"# {line}" for line in head.splitlines()]
    lines += ["angles: 1", f"units: {sheets.units}"]
    if car.toe_at is not None:
        lines.append(f"toe-at: {_length(car.toe_at)}")
    lines += _block("car", _car(car))
    lines += _specification(sheets.specification, car.toe_at)
    usual = Repeatability()
    told = {
        name: value_text(getattr(sheets.repeatability, name), name, None)
        for name in ("camber", "caster", "inclination", "toe")
        if getattr(sheets.repeatability, name) != getattr(usual, name)
    }
    lines += _block("repeatability", told)
    for sheet in sheets.both():
        lines.append(f"{sheet.when}:")
        lines += _measured(sheet)
    return "\n".join(lines) + "\n"


def value_text(value: float, angle: str, toe_at: float | None) -> str:
    """How the value is written so that it reads to itself."""
    best = ""
    for text in _forms(value, angle, toe_at):
        best = text
        try:
            if read_value(text, angle.removesuffix("-length"), toe_at)[1] == kept(value, angle):
                return text
        except InputError:
            continue
    return best


def _forms(value: float, angle: str, toe_at: float | None) -> Iterator[str]:
    """Ways of writing it, the plainest first; the last is near enough for anything."""
    if angle in ("height", "set-back-length"):
        yield _length(value)
        return
    sign = "-" if value < 0.0 else ""
    minutes = math.degrees(abs(value)) * 60.0
    whole, rest = divmod(round(minutes, 3), 60.0)
    yield f"{sign}{whole:.0f}°{_plain(rest, 3, 2)}'"
    degrees = math.degrees(abs(value))
    for places in (1, 2, 3, 4):
        yield f"{sign}{degrees:.{places}f}°"
    if angle in ("toe", "total-toe") and toe_at is not None:
        wheels = 2.0 if angle == "total-toe" else 1.0
        across = wheels * toe_at * math.sin(abs(value) / wheels)
        for unit, size in (("mm", 0.001), ("in", 0.0254)):
            for places in (1, 2, 3, 5):
                yield f"{sign}{across / size:.{places}f} {unit}"
    seconds = round(minutes * 60.0)
    yield f"{sign}{seconds // 3600}°{seconds // 60 % 60:02d}'{seconds % 60:02d}\""
    yield f"{sign}{_plain(minutes, 3, 1)}'"
    for places in (6, 8, 9):
        yield f"{sign}{degrees:.{places}f}°"


def _plain(value: float, places: int, digits: int) -> str:
    """A number without trailing zeros, its whole part with at least so many digits."""
    text = f"{value:.{places}f}".rstrip("0").rstrip(".")
    whole, point, part = text.partition(".")
    return whole.zfill(digits) + point + part


def _length(value: float) -> str:
    """A length (m) in millimetres, or in inches where only that is exact."""
    texts = [
        f"{_plain(value / size, places, 1)} {unit}"
        for places in (3, 6, 9)
        for unit, size in (("mm", 0.001), ("in", 0.0254))
    ]
    for text in texts:
        number, unit = text.split()
        if round(float(number) * (0.001 if unit == "mm" else 0.0254), 9) == round(value, 9):
            return text
    return f"{_plain(value * 1000.0, 9, 1)} mm"


def _car(car: Car) -> dict[str, str]:
    told = {key: json.dumps(getattr(car, key), ensure_ascii=False) for key in ("name",) if car.name}
    told |= {key: getattr(car, key) for key in ("front", "rear") if getattr(car, key)}
    for key in ("wheelbase", "front_track", "rear_track"):
        if getattr(car, key) is not None:
            told[key.replace("_", "-")] = _length(getattr(car, key))
    return told


def _block(name: str, told: dict[str, str], indent: str = "") -> list[str]:
    return [f"{indent}{name}:", *(f"{indent}  {key}: {text}" for key, text in told.items())] if told else []


def _flow(told: dict[str, str]) -> str:
    return "{" + ", ".join(f"{key}: {text}" for key, text in told.items()) + "}"


def _specification(specification: Specification, toe_at: float | None) -> list[str]:
    lines: list[str] = []
    for axle in AXLES:
        rows = [(angle, specification.of(axle, angle)) for angle in SPECIFIED[axle]]
        told = {
            angle.removesuffix("-length"): _flow(_allowed(row, angle, toe_at))
            for angle, row in rows
            if row != Allowed()
        }
        lines += _block(axle, told, "  ")
    return ["specification:", *lines] if lines else []


def _allowed(row: Allowed, angle: str, toe_at: float | None) -> dict[str, str]:
    told = {
        key: value_text(getattr(row, key), angle, toe_at)
        for key in ("low", "high", "nominal", "cross")
        if getattr(row, key) is not None
    }
    if row.adjustable is not None:
        told["adjustable"] = "yes" if row.adjustable else "no"
    return told


def _measured(sheet: Sheet) -> list[str]:
    lines: list[str] = []
    toe_at = sheet.car.toe_at
    for name in AXLES:
        axle: Axle = getattr(sheet, name)
        told = {}
        for side in SIDES:
            wheel: Wheel = getattr(axle, side)
            values = {
                key: value_text(getattr(wheel, key), key, toe_at)
                for key in ("camber", "caster", "inclination", "included", "toe", "height")
                if getattr(wheel, key) is not None
            }
            if values:
                told[side] = _flow(values)
        if axle.total_toe is not None:
            told["total-toe"] = value_text(axle.total_toe, "total-toe", toe_at)
        if axle.set_back is not None:
            told["set-back"] = value_text(axle.set_back, "set-back", toe_at)
        elif axle.set_back_length is not None:
            told["set-back"] = value_text(axle.set_back_length, "set-back-length", toe_at)
        if name == "rear" and sheet.thrust is not None:
            told["thrust"] = value_text(sheet.thrust, "thrust", toe_at)
        lines += _block(name, told, "  ")
    if sheet.rim is not None:
        lines.append(f"  rim: {value_text(sheet.rim, 'rim', toe_at)}")
    # A measurement without any value is still one that was begun.
    return lines or ["  rim:"]
