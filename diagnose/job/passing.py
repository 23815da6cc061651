"""A case file as a job that nobody keeps: all that is said of it is what the job would say."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from diagnose.job.journal import Journal
from diagnose.job.session import Session
from diagnose.job.steps import case_name, steps_of

if TYPE_CHECKING:
    from diagnose.job.case import Case
    from diagnose.model.library import Library
    from diagnose.model.story import Workshop

__all__ = ["passing"]


@contextmanager
def passing(library: Library, case: Case, workshop: Workshop) -> Iterator[Session]:
    """The job that a case file opens in this workshop, gone when the block ends."""
    with Journal.passing() as journal:
        yield Session.start(library, journal, case_name(case), workshop, steps_of(library, case))
