"""Before and after, side by side: what the correction did."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from markupsafe import Markup
from starlette.responses import Response

from app.errors import NotFound
from app.schemas.result import CharacteristicOut
from app.services import surveys
from app.services.surveys import Comparison
from app.web.database import Read
from app.web.door import pages
from app.web.drawn import Views, bar, outline_pair
from app.web.pages.result_words import verdict_mark
from app.web.pages.words import Mark, Said, mark, said_apart
from app.web.rendering import Page, show
from app.web.visits import Here
from app.wording import cautions, numbers
from app.wording.moments import moment
from app.wording.sections import sorted_into
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two measurements."""

    survey: int
    finding: Mark
    when: str
    views: Views | None


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One characteristic before and after."""

    name: str
    before: str
    before_uncertainty: str
    after: str
    after_uncertainty: str
    change: str
    """What changed, which way, and how well that is known; empty where it cannot be told."""
    allowed: str
    bar: Markup
    finding: Mark | None


@dataclass(frozen=True, slots=True)
class ChangeGroup:
    """The rows of one section."""

    title: str
    rows: tuple[ChangeRow, ...]


@dataclass(frozen=True, kw_only=True)
class ComparisonPage(Page):
    template: ClassVar[str] = "pages/before_and_after.html"
    number: str
    said: Said
    before: Side
    after: Side
    groups: tuple[ChangeGroup, ...]
    same_reference: bool
    no_change_because: str
    caution: str


@pages.add("GET", "/jobs/{number}/before-and-after", "surveys.read")
def before_and_after(request: Request, visit: Here, session: Read, number: str) -> Response:
    """The last measurement after the correction beside the one before it."""
    found = surveys.compare(session, visit.person, number)
    if found is None:
        raise NotFound("no_such_survey", None, met=_("before and after"))
    return show(request, visit, page_of(found))


def page_of(found: Comparison) -> ComparisonPage:
    """Both results in words."""
    before, after = found.before, found.after
    drawn = outline_pair(before.result, after.result)
    return ComparisonPage(
        title=_("Before and after"),
        number=after.job_number,
        said=said_apart(after.result["finding"]["sentence"]),
        before=Side(
            before.number,
            mark(before.result["finding"]["verdict"]),
            moment(before.measured_at or before.submitted_at),
            drawn[0],
        ),
        after=Side(
            after.number,
            mark(after.result["finding"]["verdict"]),
            moment(after.measured_at or after.submitted_at),
            drawn[1],
        ),
        groups=groups_of(found),
        same_reference=found.same_reference,
        no_change_because=found.no_change_because or "",
        caution=cautions.one_line(),
    )


def groups_of(found: Comparison) -> tuple[ChangeGroup, ...]:
    """All characteristics of either, section by section."""
    earlier = {one["key"]: one for one in found.before.result["characteristics"]}
    later = {one["key"]: one for one in found.after.result["characteristics"]}
    told = found.change["characteristics"] if found.change else []
    changed = {one["key"]: unbroken(one["sense"]) for one in told}
    keys = [change.key for change in found.changes]
    return tuple(
        ChangeGroup(
            section.title,
            tuple(row_of(earlier.get(key), later.get(key), changed.get(key, "")) for key in inside),
        )
        for section, inside in sorted_into(keys, str)
    )


def unbroken(words: str) -> str:
    """The words with no line's end between a sign and its number."""
    return words.replace("± ", "±\N{NO-BREAK SPACE}")


def row_of(
    before: CharacteristicOut | None, after: CharacteristicOut | None, change: str
) -> ChangeRow:
    """One characteristic, of which at least one side is there."""
    shown = after or before
    assert shown is not None
    missing = _("not measured")
    return ChangeRow(
        name=shown["name"],
        before=before["sense"] if before else missing,
        before_uncertainty=spread(before),
        after=after["sense"] if after else missing,
        after_uncertainty=spread(after),
        change=change,
        allowed=numbers.limits(shown["lower"], shown["upper"], shown["unit"])
        if shown["lower"] is not None or shown["upper"] is not None
        else "",
        bar=bar(after, before) if after else Markup(""),
        finding=verdict_mark(after) if after else None,
    )


def spread(one: CharacteristicOut | None) -> str:
    """The expanded uncertainty with its unit; empty where it is nothing by definition."""
    if one is None or not one["expanded_uncertainty"]:
        return ""
    expanded = one["expanded_uncertainty"]
    return numbers.spread(expanded, one["unit"], numbers.places(expanded))
