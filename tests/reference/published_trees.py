"""Published fault trees, and what their publications say of them. Probabilities by event; gates as
(how many branches must be on, branches), the top under `TOP`."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

__all__ = ["BAOBAB", "CHINESE", "VESELY", "Gates", "gates", "vesely"]

Gates = Mapping[str, tuple[int, Sequence[str]]]


def gates(text: str) -> dict[str, tuple[int, list[str]]]:
    """Gates from lines `name = or|and|2 branch branch ...`."""
    found = {}
    for line in text.strip().splitlines():
        name, _, told = line.partition("=")
        kind, *branches = told.split()
        need = {"or": 1, "and": len(branches)}.get(kind) or int(kind)
        found[name.strip()] = (need, branches)
    return found


# Two of the Aralia fault trees, structure and results: github.com/openpra-org/aralia-fault-tree-dataset
# (DOI 10.5281/zenodo.20160659), `chinese` and `baobab2`; every basic event has probability 0.01.
CHINESE = gates(
    """
    TOP = and g1 g2
    g2 = and g5 g4
    g4 = or e5 e7 e4 e6 g8
    g8 = and g11 g12
    g12 = and g18 g19
    g19 = or e24 e25
    g18 = or e22 e23
    g11 = or e14 e15 e16 g17
    g17 = and g22 g23
    g23 = or e20 e19
    g22 = or e18 e17 e21
    g5 = or e8 g9
    g9 = and g13 g14
    g14 = or e5 e7 e4 e6 g21
    g21 = and g26 g27
    g27 = or e12 e13
    g26 = or e10 e9 e11 g31
    g31 = and g34 g35
    g35 = or e18 e17
    g34 = or e20 e19 e21
    g13 = or e1 e2 e3 g20
    g20 = and g24 g25
    g25 = and g29 g30
    g30 = or e24 e25
    g29 = or e22 e23
    g24 = or e14 e15 e16 g28
    g28 = and g32 g33
    g33 = or e20 e19
    g32 = or e18 e17 e21
    g1 = or e1 e2 e3 g3
    g3 = and g7 g6
    g6 = or e10 e9 e11 g10
    g10 = and g16 g15
    g15 = or e18 e17
    g16 = or e20 e19 e21
    g7 = or e12 e13
    """
)

BAOBAB = gates(
    """
    TOP = 3 g3 g4 g5 g1 g2
    g2 = or e2 g7
    g7 = and g13 g12
    g13 = or e7 g17
    g1 = or e1 g6
    g6 = and g11 g12
    g11 = or e6 g17
    g5 = or e5 g10
    g10 = and g16 g12
    g16 = or e10 g17
    g4 = or e4 g9
    g9 = and g15 g12
    g15 = or e9 g17
    g3 = or e3 g8
    g8 = and g14 g12
    g12 = or e11 g18
    g18 = 2 g23 g22 g24
    g24 = or e17 g27
    g22 = or e15 g25
    g23 = or e16 g26
    g14 = or e8 g17
    g17 = 2 g20 g19 g21
    g21 = or e14 g27
    g27 = or e20 g30
    g30 = 2 g37 g38 g39
    g39 = or e32 e30
    g38 = or e26 e28
    g37 = or e24 e22
    g19 = or e12 g25
    g25 = or e18 g28
    g28 = 2 g31 g32 g33
    g33 = or e30 e29
    g32 = or e26 e25
    g31 = or e22 e21
    g20 = or e13 g26
    g26 = or e19 g29
    g29 = 2 g35 g34 g36
    g36 = or e30 e31
    g34 = or e22 e23
    g35 = or e27 e26
    """
)

# W. E. Vesely, A time-dependent methodology for fault tree evaluation, Nuclear Engineering and Design 13
# (1970) 337-360, figure 1 and table 2, as in github.com/public-fta/pfta, examples/vesely-1970.txt.
VESELY = gates(
    """
    TOP = or G1 G2
    G1 = or G3 G4
    G2 = or G5 G6
    G3 = or G7 G8 G9
    G4 = or G10 G11
    G5 = or G12 G13 G14
    G6 = and G15 G3
    G7 = and 1 2
    G8 = and 1 3
    G9 = and 2 3
    G10 = and 1 2 G16
    G11 = and G17 G18
    G12 = and 4 5
    G13 = and 4 6
    G14 = and 5 6
    G15 = or 7 8
    G16 = or 9 10
    G17 = or 7 8 9
    G18 = or G19 G20
    G19 = and 1 2 3
    G20 = and 4 5 6
    """
)

#: Failure rates per hour of its events, without repair.
_RATES = {
    **dict.fromkeys("123", 2.6e-6),
    **dict.fromkeys("456", 3.5e-5),
    **dict.fromkeys("78", 5e-6),
    "9": 8e-6,
    "10": 8e-6,
}


def vesely(hours: float) -> dict[str, float]:
    """Probabilities of its events after so many hours."""
    return {event: -math.expm1(-rate * hours) for event, rate in _RATES.items()}
