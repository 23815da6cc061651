"""A wheel-angle sheet: what was measured on one car, what is allowed there, what follows, what is doubtful.

    sheet     the frozen values: a Sheet of one measurement, its Car and Specification; Sheets of one file
    derive    totals, thrust, differences and included angles, each with what it was computed from
    judge     every value against the specification, in words
    doubts    questions about values that make no sense
    show      values in the units of the workshop
    read      YAML and CSV in, every fault with its place
    write     a sheet back to YAML

Inside are radians and metres; the signs are those of `diagnose.geometry`. Nothing stops for a missing value.
"""
