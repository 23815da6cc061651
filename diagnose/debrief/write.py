"""A drive as plain values for JSON, and as a YAML file; both read back to the same drive.

`read_data` takes the plain values, `read_drive` the file. What has its usual value is left out.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from diagnose.debrief.drive import Drive, Impression, Leg, neat
from diagnose.debrief.scale import shown

__all__ = ["drive_data", "drive_yaml"]


def drive_data(drive: Drive) -> dict[str, Any]:
    """The drive as a mapping of texts, numbers, lists and mappings, with the keys of the file."""
    data: dict[str, Any] = {"debrief": 1}
    data |= _texts(drive, "car", "when", "who")
    if drive.km is not None:
        data["km"] = _number(drive.km)
    data |= _unless(drive, pressures="unknown")
    data |= _texts(drive, "load", "weather")
    data |= _unless(drive, road="unknown", reference="none")
    data["legs"] = [_leg(leg) for leg in drive.legs]
    return data


def drive_yaml(drive: Drive, head: str = "") -> str:
    """The file as text. head: remarks for its first lines, without #."""
    lines = [f"# {line}" for line in head.splitlines()]
    data = drive_data(drive)
    legs = data.pop("legs")
    lines += [f"{key}: {_scalar(value)}" for key, value in data.items()]
    lines.append("legs:" if legs else "legs: []")
    for leg in legs:
        noticed = leg.pop("noticed", ())
        lines += _entry(leg, "  ")
        if noticed:
            lines.append("    noticed:")
            for one in noticed:
                lines += _entry(one, "      ")
    return "\n".join(lines) + "\n"


def _leg(leg: Leg) -> dict[str, Any]:
    usual = leg.usual
    data: dict[str, Any] = {"leg": leg.kind}
    if leg.surface != usual.surface:
        data |= _texts(leg, "surface")
    if (leg.low, leg.high) != (usual.low, usual.high):
        data["speed"] = f"{_number(leg.low)}-{_number(leg.high)}"
    if leg.manoeuvre != usual.manoeuvre:
        data |= _texts(leg, "manoeuvre")
    if leg.noticed:
        data["noticed"] = [_impression(one) for one in leg.noticed]
    return data


def _impression(one: Impression) -> dict[str, Any]:
    data: dict[str, Any] = _texts(one, "words")
    data["complaint"] = one.complaint or "none"
    if one.side:
        data["side"] = one.side
    if one.rating is not None:
        data["rating"] = _number(one.rating)
    if one.felt:
        data["felt"] = one.felt
    return data | _texts(one, "began")


def _texts(of: object, *names: str) -> dict[str, str]:
    told = {name: neat(getattr(of, name)) for name in names}
    return {name: text for name, text in told.items() if text}


def _unless(of: object, **usual: str) -> dict[str, str]:
    return {name: getattr(of, name) for name, value in usual.items() if getattr(of, name) != value}


def _number(value: float) -> float | int:
    return int(value) if float(value).is_integer() else value


def _entry(data: Mapping[str, Any], indent: str) -> Iterator[str]:
    """The lines of a mapping in a list."""
    for number, (key, value) in enumerate(data.items()):
        yield f"{indent}{'  ' if number else '- '}{key}: {_scalar(value)}"


def _scalar(value: Any) -> str:
    """A value on its line: words of the format and numbers bare, what somebody said in quotes."""
    if isinstance(value, float):
        return shown(value) if value < 1000 else repr(value)
    if isinstance(value, int):
        return str(value)
    text = str(value)
    bare = text.replace("-", "").replace(".", "")
    return (
        text
        if bare.isascii() and bare.isalnum() and text[0].isalnum()
        else json.dumps(text, ensure_ascii=False)
    )
