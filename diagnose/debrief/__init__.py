"""The debrief of a drive: what was felt, on which leg of the route, how strongly, and against which drive.

    scale     the ten-point scale of ratings, its words, and how surely a rating says that something was felt
    route     the kinds of legs of a test drive, each with its usual surface, speeds and manoeuvre
    drive     the frozen values: Drive, Leg, Impression
    shows     which kind of leg can show which complaint
    evidence  what a drive says to the belief, as `Heard`
    scatter   by how much the ratings of an unchanged car differ
    compare   two drives, complaint by complaint
    read      YAML in, every fault with its place
    write     a drive as plain values, and as YAML
    as_json   a drive and its comparisons for other programs

Speeds are in km/h. A rating runs from 1 (not acceptable) to 10 (imperceptible): higher is better.
"""
