"""What the engine says of many jobs of one model: causes there, links that worked, findings that showed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from diagnose.belief.engine import Engine
from diagnose.belief.evidence import Weights
from diagnose.belief.network import Network
from diagnose.learn.coins import Array, Toss
from diagnose.learn.links import Leak, Way
from diagnose.learn.shown import Shown, columns_of

__all__ = ["Asker", "Known"]


@dataclass(frozen=True)
class Known:
    """Of J jobs, a row each: log P(answers); P(cause there); P(way worked), P(leak on); counts of findings.

    A job whose answers are impossible has log -inf, and else 0.
    """

    log: Array
    present: Array
    worked: Array
    seen: Array
    tossed: Array

    def rows(self, at: Sequence[int] | NDArray[np.intp]) -> Known:
        """The same of these jobs."""
        return Known(*(getattr(self, each.name)[at] for each in fields(self)))

    def nothing(self) -> Known:
        """As many jobs, all impossible."""
        empty = Known(*(np.zeros_like(getattr(self, each.name)) for each in fields(self)))
        empty.log[:] = -np.inf
        return empty

    def put(self, at: Sequence[int], other: Known) -> None:
        """Write what is known of some jobs into their rows."""
        for each in fields(self):
            getattr(self, each.name)[at] = getattr(other, each.name)

    def mixed(self, other: Known) -> tuple[Known, Array]:
        """Both together, each job by the logs as weights; and the share of the other in each."""
        log = np.logaddexp(self.log, other.log)
        share = np.exp(other.log - log)
        w = share[:, None]
        one, two = self, other
        both = Known(
            log,
            one.present * (1.0 - w) + two.present * w,
            one.worked * (1.0 - w) + two.worked * w,
            one.seen * (1.0 - w) + two.seen * w,
            one.tossed * (1.0 - w) + two.tossed * w,
        )
        return both, share


class Asker:
    """Asks about jobs of one model; `tosses` are the findings' own, in the order of the counts."""

    def __init__(
        self, network: Network, ways: Sequence[Way], leaks: Sequence[Leak], shown: Sequence[Shown]
    ) -> None:
        self.causes = len(network.causes)
        self.ways, self.shown = tuple(ways), tuple(shown)
        self.keys = (*(way.asked for way in ways), *(leak.key for leak in leaks))
        self._way = {way.key: number for number, way in enumerate(ways)}
        self.tosses: list[Toss] = []
        for each in shown:
            if each.alarm[0] is not None:
                self.tosses.append(Toss(each.alarm[0]))
            self.tosses += [Toss(figure) for figure, _, _ in each.inputs]

    def known(self, engine: Engine, stories: Sequence[Mapping[str, Weights]]) -> Known:
        """What the engine makes of these stories.

        A link of a finding that was seen worked with P(source on, without this finding) * detection times
        P(answers without it) / P(answers): a link that works makes the finding seen.
        """
        columns, at, without = columns_of(stories, self.shown)
        answer = engine.ask(columns, self.keys)
        present = np.nan_to_num(answer.present[:, : self.causes])
        on = np.nan_to_num(answer.on)
        log = answer.log_evidence[at]
        seen: list[Array] = []
        tossed: list[Array] = []
        for number, each in enumerate(self.shown):
            answered = np.array([each.key in story for story in stories], dtype=np.float64)
            less = without[:, number]
            yes = np.array([story[each.key][1] if each.key in story else 0.0 for story in stories])
            with np.errstate(invalid="ignore"):
                factor = yes * np.exp(answer.log_evidence[less] - log)
            factor = np.where((less >= 0) & np.isfinite(factor), factor, 0.0)
            if each.alarm[0] is not None:
                seen.append(np.minimum(each.alarm[1] * factor, 1.0))
                tossed.append(answered)
            for _, source, detection in each.inputs:
                there = present[:, source] if isinstance(source, int) else on[:, self._way[source]]
                seen.append(np.minimum(detection * there[less] * factor, there[at]))
                tossed.append(there[at] * answered)
        shape = (len(seen), len(stories))
        return Known(
            log,
            present[at],
            on[at],
            np.array(seen).reshape(shape).T.copy(),
            np.array(tossed).reshape(shape).T.copy(),
        )
