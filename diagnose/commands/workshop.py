"""What the workshop has and what an hour costs there."""

from __future__ import annotations

import argparse

from diagnose.commands import given

__all__ = ["add_arguments", "workshop"]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What the command takes."""
    parser.add_argument(
        "--lacks",
        metavar="ID",
        action="append",
        default=[],
        help="a set-up or tool that is not to be had here (may be given again)",
    )
    parser.add_argument(
        "--has",
        metavar="ID",
        action="append",
        default=[],
        help="one that is to be had after all (may be given again)",
    )
    parser.add_argument("--forget", action="store_true", help="back to the defaults first")
    parser.add_argument("--json", action="store_true", help="print the profile as JSON")


def workshop(options: argparse.Namespace) -> int:
    """Change the workshop's profile as the options say, if they say anything, and show it."""
    from diagnose.job.profile import forget, profile_path, read_profile, write_profile
    from diagnose.model.story import Workshop
    from diagnose.screen.desk import clean, console_for
    from diagnose.screen.pages import paragraph
    from diagnose.screen.workshop import labour_line, lack_line, workshop_json, workshop_page

    library = given.library(options)
    path = profile_path(getattr(options, "store", None))
    told = bool(options.currency or options.labour_rate or options.lacks or options.has)
    found = None if options.forget else read_profile(library, path, options.has)
    base = found or Workshop()
    # What the trees do not know any more can still be taken off.
    known = {*library.set_ups, *library.tools, *base.cannot}
    changed = {"--lacks": options.lacks, "--has": options.has}
    given.demand_known(changed, known, "set-up or tool", "`diagnose workshop` lists them")
    lacks = (base.cannot | set(options.lacks)) - set(options.has)
    workshop = Workshop(options.currency or base.currency, options.labour_rate or base.labour_rate, lacks)
    if options.forget:
        forget(path)
    if told:
        write_profile(path, workshop)
    kept = told or found is not None
    if options.json:
        shown = workshop_json(library, workshop, path, kept)
        return given.print_json({"format": "handling-diagnose/workshop/1", **shown})
    console, look = console_for()
    if not (told or options.forget):
        console.print(workshop_page(library, workshop, kept, look))
        if kept:
            # A path is there to be copied: it is neither cut nor wrapped.
            console.print(clean(str(path)), soft_wrap=True)
        return given.OK
    done = "Kept for new jobs; jobs already begun stay as they are." if told else "Back to the defaults."
    for line in (labour_line(workshop), lack_line(library, workshop), done):
        console.print(paragraph(line, look, 0))
    return given.OK
