"""Readings and car from words given one by one, as on a command line."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.errors import InputError
from diagnose.geometry.tyres import parse_tyre
from diagnose.shake.given import Build, By, Reading
from diagnose.shake.typed import parse_frequency, parse_number, parse_ratio, parse_speed

__all__ = ["asked"]


def asked(
    pairs: Sequence[str],
    speeds: Sequence[str],
    frequencies: Sequence[str],
    rpms: Sequence[str],
    *,
    by: By = "speedometer",
    seconds: str = "20",
    rate: str | None = None,
    felt: bool = False,
    tyre: str | None = None,
    circumference: str | None = None,
    final_drive: str | None = None,
    gear_ratio: str | None = None,
    drive: str | None = None,
    cylinders: str | None = None,
) -> tuple[tuple[Reading, ...], Build]:
    """All of it as values. pairs are `SPEED:HZ` or `SPEED:HZ:RPM`; an engine speed goes with each speed.

    Raises InputError with the option at fault and how to write it.
    """
    if len(speeds) != len(frequencies):
        raise InputError(
            f"{len(speeds)} of --speed and {len(frequencies)} of --frequency: give one for each speed"
        )
    rows = [_pair(pair) for pair in pairs] + [(s, f, "") for s, f in zip(speeds, frequencies, strict=True)]
    if rpms:
        open_rows = [n for n, row in enumerate(rows) if not row[2]]
        if len(rpms) != len(open_rows):
            raise InputError(
                f"{len(rpms)} of --rpm for {len(open_rows)} speeds without one: engine speed goes with each "
                "of them, so write it behind its own, such as --at 110:14.6:2800"
            )
        for n, rpm in zip(open_rows, rpms, strict=True):
            rows[n] = (rows[n][0], rows[n][1], rpm)
    time = parse_number(seconds, "--seconds", "20")
    samples = None if rate is None else parse_number(rate, "--rate", "100")
    readings = []
    for typed_speed, typed_frequency, typed_rpm in rows:
        speed, unit = parse_speed(typed_speed)
        frequency = parse_frequency(typed_frequency)
        revs = parse_number(typed_rpm, "engine speed", "2800") if typed_rpm else None
        readings.append(Reading(frequency, speed, revs, by, time, felt, samples, unit))
    if tyre is not None and circumference is not None:
        raise InputError("--tyre and --circumference say the same: give the one that was measured")
    build = Build(
        None if tyre is None else parse_tyre(tyre),
        None if circumference is None else parse_number(circumference, "--circumference", "1.95, in metres"),
        None if final_drive is None else parse_ratio(final_drive),
        None if drive is None else drive != "front",
        None if gear_ratio is None else parse_ratio(gear_ratio),
        None if cylinders is None else _cylinders(cylinders),
    )
    return tuple(readings), build


def _pair(text: str) -> tuple[str, str, str]:
    parts = [part.strip() for part in text.split(":")]
    if len(parts) not in (2, 3) or not all(parts):
        raise InputError(f"--at {text[:40]!r}: write speed, colon, frequency, such as --at 110:14.6")
    return parts[0], parts[1], parts[2] if len(parts) == 3 else ""


def _cylinders(text: str) -> int:
    number = parse_number(text, "--cylinders", "4")
    if number != int(number):
        raise InputError(f"--cylinders {text[:20]!r}: write a whole number such as 4")
    return int(number)
