"""From frequency and speed to what turns so often."""

from __future__ import annotations

import argparse

from diagnose.commands import given

__all__ = ["add_arguments", "shake"]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What the command takes."""
    parser.add_argument(
        "--at",
        metavar="SPEED:HZ[:RPM]",
        action="append",
        default=[],
        help="a speed and the frequency there, such as 110:14.6 or '68 mph:14.6' (may be given again)",
    )
    parser.add_argument(
        "--speed", metavar="SPEED", action="append", default=[], help="the same apart: 110, '68 mph'"
    )
    parser.add_argument(
        "--frequency", metavar="HZ", action="append", default=[], help="the frequency at that speed"
    )
    parser.add_argument("--rpm", metavar="N", action="append", default=[], help="engine speed at that speed")
    parser.add_argument("--tyre", metavar="SIZE", help="tyre size, such as '205/55 R16'")
    parser.add_argument("--circumference", metavar="M", help="what one turn rolls, in metres, if measured")
    parser.add_argument(
        "--final-drive", metavar="N", help="propshaft turns for one of the wheels, such as 3.9"
    )
    parser.add_argument(
        "--gear-ratio", metavar="N", help="of the gear engaged, where engine speed was not read"
    )
    parser.add_argument(
        "--drive", choices=("front", "rear", "all"), help="driven wheels; front: no propshaft"
    )
    parser.add_argument("--cylinders", metavar="N", help="of a four-stroke engine")
    parser.add_argument(
        "--by",
        choices=("speedometer", "satellite"),
        default="speedometer",
        help="how the speed was had (default: speedometer)",
    )
    parser.add_argument("--seconds", metavar="N", default="20", help="how long it was recorded (default: 20)")
    parser.add_argument("--rate", metavar="N", help="samples a second of the recorder")
    parser.add_argument("--felt", action="store_true", help="beats counted by hand, not recorded")
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


def shake(options: argparse.Namespace) -> int:
    """What may turn as often as the car shakes."""
    from diagnose.screen.desk import console_for
    from diagnose.screen.shake import shake_json, shake_page
    from diagnose.shake.advice import advise
    from diagnose.shake.asked import asked
    from diagnose.shake.fit import fits_of
    from diagnose.shake.grades import named_shares

    readings, build = asked(
        options.at,
        options.speed,
        options.frequency,
        options.rpm,
        by=options.by,
        seconds=options.seconds,
        rate=options.rate,
        felt=options.felt,
        tyre=options.tyre,
        circumference=options.circumference,
        final_drive=options.final_drive,
        gear_ratio=options.gear_ratio,
        drive=options.drive,
        cylinders=options.cylinders,
    )
    fits = fits_of(readings, build)
    advice = advise(fits, readings, build)
    if options.json:
        found = shake_json(fits, readings, advice, named_shares(fits))
        return given.print_json({"format": "handling-diagnose/shake/1", **found})
    console, look = console_for()
    console.print(shake_page(fits, readings, advice, look))
    return given.OK
