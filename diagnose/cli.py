"""The command line: one thin command a verb; no rules of its own."""

from __future__ import annotations

import argparse
import errno
import os
import sys
from collections.abc import Callable, Sequence

from diagnose.commands.given import MISTAKE, OK, say
from diagnose.commands.parser import parser
from diagnose.errors import (
    CaseError,
    DebriefError,
    DiagnoseError,
    LibraryError,
    SheetError,
    WorkshopError,
)

__all__ = ["run"]


def run(arguments: Sequence[str]) -> int:
    """Carry out the command line and return its exit code; a user's mistake never shows a traceback."""
    try:
        code = _run(arguments)
        if sys.stdout is not None:
            sys.stdout.flush()  # here, and not after all is over, where nobody could say what went wrong
        return code
    except BrokenPipeError:
        # The reader has gone (such as `| head`): nothing more to say, and nobody to say it to.
        _drop_output()
        return OK
    except OSError as error:
        if error.errno not in _UNWRITTEN or error.filename is not None:
            raise
        _drop_output()
        say(f"diagnose: what it has to say cannot be written ({error.strerror})", sys.stderr)
        return MISTAKE
    except KeyboardInterrupt:
        print(file=sys.stderr)
        return 130


#: What a full or broken disk says where the output goes into a file.
_UNWRITTEN = (errno.ENOSPC, errno.EIO, errno.EFBIG, errno.EDQUOT)


def _drop_output() -> None:
    """Let go of what is still to be written, lest Python tries again at its end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _run(arguments: Sequence[str]) -> int:
    if any("\0" in each for each in arguments):
        say("diagnose: the character NUL stands in an argument: no name and no number has it", sys.stderr)
        return MISTAKE
    typed = parser()
    if "_ARGCOMPLETE" in os.environ:  # a shell asks what may come next
        from diagnose.commands.completion import complete

        complete(typed)
    try:
        options = typed.parse_args(arguments)
    except SystemExit as leave:
        return int(leave.code or 0) if not isinstance(leave.code, str) else MISTAKE
    command: Callable[[argparse.Namespace], int] = options.command
    try:
        return command(options)
    except (LibraryError, CaseError, WorkshopError, SheetError, DebriefError) as error:
        count = len(error.problems)
        say(f"{error}\n{count} problem{'s' if count != 1 else ''}", sys.stderr)
        return MISTAKE
    except DiagnoseError as error:
        say(f"diagnose: {error}", sys.stderr)
        return MISTAKE
