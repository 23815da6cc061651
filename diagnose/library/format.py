"""The shape of every row that a tree file may hold; docs/trees.md says what each key means."""

from __future__ import annotations

from diagnose.library.shapes import (
    ByForm,
    ByKey,
    Choice,
    Clause,
    Identifier,
    Key,
    ListOf,
    MappingOf,
    Number,
    OneOrMore,
    Pattern,
    Probability,
    Row,
    Shape,
    Text,
    YesNo,
    optional,
)
from diagnose.model.complaint import RELATIVE
from diagnose.model.position import POSITIONS, WHERE

__all__ = ["CHECK", "COMPLAINT", "FAULT", "FILE", "PART", "QUANTITIES", "TABLES", "TABLE_CHANGES"]

#: What a reading may measure; fixes which units it can be given in.
QUANTITIES = ("length", "angle", "pressure", "temperature", "force", "count", "ratio", "mass")

_ID = Identifier()
_P = Probability()
_NAME = Text(longest=120)
_PROSE = Text(longest=1200, lines=True)
_MINUTES = Number(0, 1440, unit="minutes")
_MONEY = Number(0, 100_000)
_IDS = OneOrMore(_ID)

_id = Key(_ID, about="plain hyphenated words, its own in this kind of row")
_name = Key(_NAME, about="in plain words, as shown at the car")
_source = Key(_IDS, about="one or several ids of `sources`, common-practice or estimate")
_some_source = optional(_IDS, about="one or several ids of `sources`; omit: that of the row above it")
_fits = optional(MappingOf(_ID, _IDS, "facts"), about="fact: value or values; every fact named must agree")
_where = Choice(tuple(WHERE))

# tables ---------------------------------------------------------------------------------------

_FACT_VALUE = Row(
    "a value of a fact",
    {
        "id": _id,
        "name": _name,
        "share": Key(Number(0, 1, above=True), about="share of cars, used while it is unknown"),
    },
)

#: Key of a file -> the shape of one row under it, for the small tables.
TABLES: dict[str, Row] = {
    "facts": Row(
        "a fact",
        {
            "id": _id,
            "ask": Key(_NAME, about="the question that settles it"),
            "source": _source,
            "values": Key(ListOf(_FACT_VALUE, least=1)),
        },
    ),
    "conditions": Row(
        "a condition",
        {
            "id": _id,
            "ask": Key(_NAME, about="the question that settles it"),
            "name": _name,
            "source": _some_source,
        },
    ),
    "set-ups": Row(
        "a set-up",
        {
            "id": _id,
            "name": _name,
            "enter": Key(_MINUTES, about="minutes to get there from talking with the driver"),
            "leave": Key(_MINUTES, about="minutes to get back from there"),
            "driven": optional(YesNo(), about="yes: the car is driven in it"),
            "source": _source,
        },
    ),
    "areas": Row("an area", {"id": _id, "name": _name}),
    "tools": Row("a tool", {"id": _id, "name": _name}),
    "cautions": Row("a caution", {"id": _id, "text": Key(_PROSE)}),
    "access": Row(
        "an access",
        {
            "id": _id,
            "name": _name,
            "per": Key(Choice(("each", "car")), about="once at each corner, or once a car"),
            "hours": Key(
                Number(0, 200, above=True, unit="hours"), about="there and back together, beyond `within`"
            ),
            "within": optional(_ID, about="the access that is opened first"),
            "source": _source,
        },
    ),
    "follow-ups": Row(
        "a follow-up",
        {
            "id": _id,
            "name": _name,
            "minutes": Key(_MINUTES, about="labour"),
            "parts": Key(_MONEY, about="material; an hour of labour is about 100"),
            "covers": optional(_IDS, about="other such work that is done when this is"),
            "mends": optional(_IDS, about="remedies whose faults it puts right in passing"),
            "source": _source,
        },
    ),
    "sources": Row(
        "a source",
        {"id": _id, "name": Key(Text(200)), "url": optional(Text(300)), "note": optional(_PROSE)},
    ),
    "remedies": Row(
        "a remedy",
        {
            "id": _id,
            "name": _name,
            "per": Key(Choice(("each", "pair", "car")), about="the unit of hours and parts"),
            "hours": Key(Number(0, 200, unit="hours"), about="labour for that unit, access included"),
            "parts": Key(_MONEY, about="for that unit; an hour of labour is about 100"),
            "access": optional(_IDS, about="what must be taken apart first, the deepest alone"),
            "covers": optional(_IDS, about="other remedies whose faults it puts right too"),
            "follow-ups": optional(_IDS, about="work that must follow"),
            "cautions": optional(_IDS),
            "watch": optional(_PROSE, about="what to watch afterwards"),
            "source": _source,
        },
    ),
}

#: A quicker way between two set-ups; it has no id.
TABLE_CHANGES = Row("a change", {"between": Key(ListOf(_ID, 2, 2)), "minutes": Key(_MINUTES)})

# parts ----------------------------------------------------------------------------------------


_LIFE = Row(
    "a life",
    {
        "km": optional(Number(1, 10_000_000, unit="km"), about="by which 63 % have failed"),
        "years": optional(Number(0.01, 200, unit="years"), about="by which 63 % have failed"),
        "shape": Key(Number(0.1, 20), about="above 1 it wears out, at 1 it fails by chance"),
    },
    some_of=(("km", "years"),),
)

FAULT = Row(
    "a fault",
    {
        "id": _id,
        "name": _name,
        "life": optional(_LIFE, about="wears out: a Weibull life in distance, age or both"),
        "chance": optional(_P, about="an event, a setting, or no fault at all"),
        "mates": optional(Number(1, 1000), about="odds ratio with the other side; 1: independent"),
        "lifts": optional(
            MappingOf(_ID, Number(0, 1000, above=True), "conditions"), about="factor on the odds"
        ),
        "fits": _fits,
        "danger": optional(Choice(("stop", "warn"))),
        "danger-when": optional(_PROSE, about="what makes it dangerous"),
        "inspection": optional(Clause(), about="item of Directive 2014/45/EU, Annex I, that the car fails"),
        "inspection-when": optional(_PROSE, about="from when on it fails"),
        "remedy": Key(_ID),
        "source": _source,
    },
    one_of=(("life", "chance"),),
    together=(("danger", "danger-when"),),
)

PART = Row(
    "a part",
    {
        "id": _id,
        "name": _name,
        "where": Key(_where),
        "fits": _fits,
        "faults": Key(ListOf(FAULT, least=1)),
    },
)

# checks ---------------------------------------------------------------------------------------

_EVENT = Pattern(
    r"[a-z0-9]+(-[a-z0-9]+)*(/[a-z0-9]+(-[a-z0-9]+)*)?",
    "a complaint or a check/finding",
    "write the id of a complaint, or of a check and its finding with a slash between",
    longest=160,
)
_PER_LEVEL = ByForm(
    "one figure for each grade or band",
    "write a list of figures, weakest first, or `grade: figure` pairs",
    sequence=ListOf(_P, least=1),
    mapping=MappingOf(_NAME, _P, "grades"),
)
_unfit = optional(_PROSE, about="if seen, the car is not fit to drive: why")
_LIMIT = Row(
    "a limit",
    {
        "at": Key(Number(-1_000_000, 1_000_000), about="in the unit of the reading"),
        "name": Key(_NAME, about="the band at and beyond it"),
        "source": _some_source,
    },
)
_READING = Row(
    "a reading",
    {
        "quantity": Key(Choice(QUANTITIES)),
        "unit": Key(Text(20)),
        "direction": optional(Choice(("over", "under")), about="which side is bad; omit: over"),
        "below": optional(_NAME, about="the band inside all limits"),
        "repeatability": optional(
            Number(0, 1_000_000),
            about="what two readings of the same thing differ by at most, 95 times in 100; omit: 0, counted",
        ),
        "limits": Key(ListOf(_LIMIT, least=1, most=8), about="the first band to be left first"),
    },
)


def _finding(name: str, figure: Shape, extra: dict[str, Key]) -> Row:
    return Row(
        name,
        {
            "id": _id,
            "name": _name,
            "where": optional(_where, about="omit: about the whole car"),
            "none": optional(
                _NAME, about="the state below the first grade; cannot tell: one of them always holds"
            ),
            **extra,
            "points-to": Key(
                MappingOf(_ID, figure, "faults and mechanisms"), about="P(seen | this alone present)"
            ),
            "false-alarm": Key(figure, about="P(seen | none of the listed)"),
            "of-complaint": optional(YesNo(), about="yes: it says how the complaint itself behaves"),
            "unfit": _unfit,
            "source": _some_source,
        },
    )


_FINDING = ByKey(
    "a finding",
    (
        (
            "repeats",
            Row(
                "a repeating finding",
                {
                    "id": _id,
                    "name": _name,
                    "where": optional(_where, about="omit: about the whole car"),
                    "none": optional(_NAME),
                    "repeats": Key(_EVENT, about="the complaint or check/finding seen once more"),
                    "hit": Key(_P, about="P(seen | the event)"),
                    "false-alarm": Key(_P, about="P(seen | not the event)"),
                    "unfit": _unfit,
                    "source": _some_source,
                },
            ),
        ),
        (
            "grades",
            _finding(
                "a graded finding",
                _PER_LEVEL,
                {"grades": Key(ListOf(_NAME, least=1, most=8), about="weakest first")},
            ),
        ),
        ("reading", _finding("a finding with a reading", _PER_LEVEL, {"reading": Key(_READING)})),
    ),
    otherwise=_finding("a finding", _P, {}),
)

CHECK = Row(
    "a check",
    {
        "id": _id,
        "name": _name,
        "set-up": Key(_ID),
        "minutes": Key(Number(0, 1440, above=True, unit="minutes")),
        "needs": optional(_IDS, about="tools"),
        "cautions": optional(_IDS),
        "how": Key(_PROSE, about="what to do, to somebody standing at the car"),
        "first": optional(YesNo(), about="yes: what it sets right would spoil later checks"),
        "only-for": optional(_IDS, about="complaints for which alone it makes sense; omit: for any"),
        "fits": _fits,
        "source": _source,
        "findings": Key(ListOf(_FINDING, least=1)),
    },
)

# complaints -----------------------------------------------------------------------------------

_branch_fits = optional(
    MappingOf(_ID, _IDS, "facts"), about="the layouts on which it leads to the gate; omit: all"
)
_LEAF = Row(
    "a leaf",
    {
        "cause": Key(_ID, about="a fault"),
        "strength": Key(_P, about="P(it raises the gate | it alone is present)"),
        "at": optional(OneOrMore(Choice((*RELATIVE, *POSITIONS)))),
        "fits": _branch_fits,
    },
)
_STRENGTH = Number(0, 1, above=True)
_USE = Row(
    "a use",
    {
        "use": Key(_ID, about="a mechanism that another complaint defines"),
        "strength": optional(_STRENGTH),
        "fits": _branch_fits,
    },
)


def _branches() -> Shape:
    return ListOf(_BRANCH, least=1)


_GATES = ("any", "all", "at-least")
_gate_keys = {
    "any": optional(_branches, about="one of them is enough"),
    "all": optional(_branches, about="only together"),
    "at-least": optional(Number(1, 100, whole=True), about="how many of them it takes"),
    "of": optional(_branches),
}

_MECHANISM = Row(
    "a mechanism",
    {
        "mechanism": Key(_ID),
        "name": _name,
        "strength": optional(_STRENGTH, about="towards the gate above; omit: 1"),
        "leak": optional(_P, about="chance of a cause that is not listed under it"),
        "fits": _branch_fits,
        "source": _some_source,
        **_gate_keys,
    },
    one_of=(_GATES,),
    together=(("at-least", "of"),),
)
_BRANCH = ByKey("a branch", (("cause", _LEAF), ("mechanism", _MECHANISM), ("use", _USE)))

_REPORT = ListOf(_P, 2, 2)

COMPLAINT = Row(
    "a complaint",
    {
        "id": _id,
        "name": _name,
        "about": optional(_PROSE),
        "area": optional(_ID, about="where it stands in the list of complaints"),
        "says": optional(ListOf(_NAME), about="how drivers put it"),
        "sided": optional(YesNo(), about="yes: it is to one side"),
        "leak": Key(_P, about="chance of a cause that is not in this tree"),
        "questions": optional(_IDS, about="checks in `talk`, the most telling first"),
        "heard": optional(_REPORT, about="P(a driver tells it | it is there), P(... | it is not)"),
        "felt": optional(_REPORT, about="the same for a technician's road test"),
        "source": _source,
        **_gate_keys,
    },
    one_of=(_GATES,),
    together=(("at-least", "of"),),
)

#: A whole file.
FILE = Row(
    "a tree file",
    {
        **{key: optional(ListOf(row)) for key, row in TABLES.items()},
        "changes": optional(ListOf(TABLE_CHANGES)),
        "parts": optional(ListOf(PART)),
        "checks": optional(ListOf(CHECK)),
        "complaint": optional(COMPLAINT),
    },
    inline=True,
)
