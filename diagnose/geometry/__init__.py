"""Wheel geometry and what readings of it mean: functions from numbers to numbers, with no car and no file.

Inside are metres, radians, kilograms, newtons, seconds and hertz. Degrees and minutes, millimetres and
inches are met at the edge only (`typed`). What cannot be is refused with InputError, in words.

Signs, for all of the package. "Workshop" is the workshop convention; where ISO 8855:2011 or SAE J670 say
the same it is named, quoted at second hand or from memory, for neither text was open.

| quantity | positive | convention |
|---|---|---|
| toe, one wheel or total | leading edges towards the middle (toe-in) | workshop |
| camber | top of the wheel out | ISO 8855, workshop |
| caster | top of the steering axis back | ISO 8855, workshop |
| inclination of the steering axis | top of the axis in | ISO 8855 (memory), workshop |
| included angle | inclination + camber | workshop |
| thrust, crab, angle of the rim | to the right, seen from above | workshop; SAE J670 with z down |
| set-back | right wheel further back | workshop |
| cross values | left less right | workshop |
| travel of a wheel | up against the body: the car lower | own |
| coordinates | y out from the middle of the car, z up, x forward, for a wheel of either side | own |

ISO 8855 counts turning to the left positive (x forward, y left, z up): turn the sign of thrust and rim
angles when handing them on. One maker's manual writes thrust the other way round too.
"""
