"""Scores of stated chances, against published examples."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.learn.scores import brier, log_score, parts, reliability, scores

#: 24-hour forecasts of rain at Tampere, 2003: chance, how often issued, how often it rained. Published by the
#: forecast verification page of the WMO's working group (cawcr.gov.au/projects/verification/POP3) and in the
#: R package "verification".
TAMPERE = (
    (0.0, 46, 1),
    (0.1, 55, 1),
    (0.2, 59, 5),
    (0.3, 41, 5),
    (0.4, 19, 4),
    (0.5, 22, 8),
    (0.6, 22, 6),
    (0.7, 34, 16),
    (0.8, 24, 16),
    (0.9, 11, 8),
    (1.0, 13, 11),
)


def tampere() -> tuple[list[float], list[int]]:
    stated: list[float] = []
    true: list[int] = []
    for chance, issued, rained in TAMPERE:
        stated += [chance] * issued
        true += [1] * rained + [0] * (issued - rained)
    return stated, true


def test_tampere_in_parts() -> None:
    found = parts(*tampere())
    assert round(found.score, 3) == 0.144
    assert round(found.reliability, 3) == 0.025
    assert round(found.resolution, 3) == 0.060
    assert round(found.uncertainty, 3) == 0.179
    assert round(found.skill, 3) == 0.194
    assert found.reliability - found.resolution + found.uncertainty == pytest.approx(found.score, abs=1e-12)


def test_tampere_by_log_is_finite_only_if_clipped() -> None:
    stated, true = tampere()
    assert log_score(stated, true) == pytest.approx(0.454349, abs=1e-6)
    with np.errstate(divide="ignore", invalid="ignore"):
        assert not np.isfinite(log_score(stated, true, clip=0.0))


def test_small_published_values() -> None:
    """The examples of the scikit-learn documentation for both scores (from memory)."""
    assert brier([0.1, 0.9, 0.8, 0.3], [0, 1, 1, 0]) == pytest.approx(0.0375)
    assert log_score([0.1, 0.9, 0.8, 0.35], [0, 1, 1, 0]) == pytest.approx(0.21616, abs=5e-6)


def test_a_reliability_table_counts_every_chance_once() -> None:
    stated, true = tampere()
    table = reliability(stated, true, [n / 10 - 0.05 for n in range(12)])
    assert [each.count for each in table] == [issued for _, issued, _ in TAMPERE]
    assert [each.came_true for each in table] == pytest.approx([rain / n for _, n, rain in TAMPERE])
    assert all(each.least <= each.came_true <= each.most for each in table)


def test_the_last_bin_takes_certainty() -> None:
    (last,) = reliability([1.0, 0.95], [1, 1])
    assert (last.low, last.high, last.count) == (0.9, 1.0, 2)


def test_calibration_error_is_the_mean_gap() -> None:
    found = scores([0.25] * 4 + [0.75] * 4, [1, 0, 0, 0, 1, 1, 0, 0])
    assert found.error == pytest.approx(0.125)
    assert found.brier == pytest.approx(brier([0.25] * 4 + [0.75] * 4, [1, 0, 0, 0, 1, 1, 0, 0]))


@pytest.mark.parametrize(
    ("stated", "true"), [([], []), ([0.5], [0.5]), ([1.2], [1]), ([0.2, 0.3], [1]), ([-0.1], [0])]
)
def test_what_cannot_be_scored_is_refused(stated: list[float], true: list[float]) -> None:
    with pytest.raises(ValueError, match=r"wanted|outcomes"):
        brier(stated, true)
