"""A result in the words and numbers of a page; nothing is computed, everything is stored."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from app.metrology.rounding import rounded
from app.schemas.result import CharacteristicOut, ResultOut
from app.services.chief_deviations import chief_deviations
from app.web.drawn import row_bar
from app.web.pages.words import Mark
from app.wording import labels, numbers, plain_ways, plainly, senses, verdicts
from app.wording.sections import section_of, sorted_into
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Row:
    """One characteristic in the table of a finding."""

    name: str
    description: str
    sense: str
    uncertainty: str
    unit: str
    """As it stands behind the uncertainty."""
    allowed: str
    bar: Markup
    finding: Mark
    required: bool


@dataclass(frozen=True, slots=True)
class Group:
    """The rows of one section."""

    code: str
    title: str
    counts: tuple[Mark, ...]
    """How many of its characteristics have each verdict, in words."""
    open: bool
    """Whether its rows are seen at once: where there is something to look at, or few at all."""
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """The numbers behind one row."""

    name: str
    value: str
    nominal: str
    standard_uncertainty: str
    coverage: str
    degrees_of_freedom: str
    probability: str
    finding: str


FEW = 12
"""So many rows are read without folding any."""
VERDICTS = ("outside", "undecided", "within", "no_tolerance")
"""What needs looking at first."""
UNITS = {"deg": "°", "mm": "mm"}


def groups(result: ResultOut) -> tuple[Group, ...]:
    """The table, section by section."""
    few = len(result["characteristics"]) <= FEW
    return tuple(
        Group(
            section.code,
            section.title,
            counts_of(inside),
            few or any(one["verdict"] in ("outside", "undecided") for one in inside),
            rows_of(inside),
        )
        for section, inside in sorted_into(result["characteristics"], key_of)
    )


def rows_of(inside: Sequence[CharacteristicOut]) -> tuple[Row, ...]:
    """The rows of a section; what is said of several pairs or points alike is said once."""
    said: set[str] = set()
    rows = []
    for one in inside:
        made = row(one)
        rows.append(replace(made, description="") if made.description in said else made)
        said.add(made.description)
    return tuple(rows)


def key_of(one: CharacteristicOut) -> str:
    """Under which a characteristic is sorted."""
    return one["key"]


def counts_of(inside: Sequence[CharacteristicOut]) -> tuple[Mark, ...]:
    """How many have each verdict; those that nobody has are left out."""
    found = [one["verdict"] for one in inside]
    return tuple(
        Mark(code, f"{found.count(code)} {verdicts.verdict(code)}")
        for code in VERDICTS
        if code in found
    )


def row(one: CharacteristicOut) -> Row:
    """One line of the table."""
    has_limit = one["lower"] is not None or one["upper"] is not None
    return Row(
        name=one["name"],
        description=labels.description(one["key"]),
        sense=one["sense"],
        uncertainty=""
        if one["set_by_levelling"]
        else shown_uncertainty(one["expanded_uncertainty"]),
        unit=UNITS[one["unit"]],
        allowed=numbers.limits(one["lower"], one["upper"], one["unit"]) if has_limit else "",
        bar=row_bar(one),
        finding=verdict_mark(one),
        required=one["required"],
    )


def plainly_said(result: ResultOut) -> str:
    """The finding for somebody who never heard of a tolerance."""
    limited = [(section_of(one["key"]), one["verdict"]) for one in result["characteristics"]]
    return plainly.finding(
        result["finding"]["verdict"],
        plainly.parts_of(limited),
        moved=result["rig_check"]["verdict"] == "moved",
        missing=bool(result["finding"]["missing"]),
        ways=ways_of(result),
    )


def ways_of(result: ResultOut) -> dict[str, tuple[str, ...]]:
    """How each part that is outside is off, as one would say it to the owner."""
    return {
        section: tuple(
            plain_ways.way(one["key"], one["deviation"] or 0.0, one["unit"]) for one in found
        )
        for section, found in chief_deviations(result).items()
    }


def plus_minus(result: ResultOut) -> str:
    """What ± means, with the first uncertainty of the table; empty where there is none."""
    shown = (
        plainly.plus_minus(one["expanded_uncertainty"], one["unit"])
        for one in result["characteristics"]
        if plainly.worth_showing(one["expanded_uncertainty"])
    )
    return next(shown, "")


def outside(result: ResultOut) -> tuple[str, ...]:
    """What is beyond its limits and which way, a sentence for each characteristic."""
    return tuple(
        verdicts.outside_sentence(one["name"], one["sense"])
        for one in result["characteristics"]
        if one["verdict"] == "outside"
    )


def verdict_mark(one: CharacteristicOut) -> Mark:
    """The verdict on one characteristic. The side of the limit stands with all numbers: beside
    a sense in words, "below" would be read as a second direction."""
    if one["set_by_levelling"]:
        return Mark("no_tolerance", _("made equal by levelling"))
    if one["verdict"] == "outside":
        return Mark("outside", verdicts.outside())
    word = verdicts.verdict(one["verdict"], cannot_decide=one["cannot_decide"])
    return Mark(one["verdict"], word)


def shown_uncertainty(expanded: float) -> str:
    """An expanded uncertainty without its unit, which stands behind it."""
    return rounded(expanded, numbers.places(expanded)) if expanded else "0"


def figures(result: ResultOut) -> tuple[Figure, ...]:
    """All numbers of a result."""
    return tuple(
        Figure(
            name=one["name"],
            value=one["value_sense"],
            nominal=nominal_of(one),
            standard_uncertainty=numbers.plain(round(one["standard_uncertainty"], 4)),
            coverage=rounded(one["coverage_factor"], 2),
            degrees_of_freedom=degrees_of_freedom(one["degrees_of_freedom"]),
            probability=""
            if one["probability_within"] is None
            else numbers.probability(one["probability_within"]),
            finding=verdicts.verdict(
                one["verdict"],
                one["side"],
                cannot_decide=one["cannot_decide"],
                nominal=one["nominal"],
            ),
        )
        for _section, inside in sorted_into(result["characteristics"], key_of)
        for one in inside
    )


def nominal_of(one: CharacteristicOut) -> str:
    """What the reference says, with its direction where it is below zero."""
    nominal = one["nominal"]
    return "" if nominal is None else senses.value(one["key"], nominal, one["unit"], None)


def degrees_of_freedom(count: float | None) -> str:
    """Effective degrees of freedom in words."""
    return _("very many") if count is None else rounded(count, 0)
