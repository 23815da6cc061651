"""From a frequency and a speed to what turns so often: wheel, propshaft, engine, or nothing that turns.

Pure functions. `given` says what was read and of which car, `spread` how far each figure may be off, `orders`
what can turn how often, `fit` how well each explains all readings together, `grades` what that says of a
graded finding, `advice` what it leaves open and what to measure next, `typed` how people write it.
Inside are hertz, metres, metres a second, seconds, turns a minute. The page: docs/vibration.md.
"""

from diagnose.shake.advice import Advice, advise
from diagnose.shake.fit import Fit, fits_of
from diagnose.shake.given import Build, Reading
from diagnose.shake.grades import GRADES, likeliest, shares_of
from diagnose.shake.orders import Source, expected, sources_of

__all__ = [
    "GRADES",
    "Advice",
    "Build",
    "Fit",
    "Reading",
    "Source",
    "advise",
    "expected",
    "fits_of",
    "likeliest",
    "shares_of",
    "sources_of",
]
