"""What the correction did: the measurements before, during and after it beside each other."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from fastapi import Request
from markupsafe import Markup
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import NotFound
from app.schemas.result import CharacteristicOut
from app.services import jobs
from app.services.job_views import JobView
from app.services.stages import Stages, stages
from app.services.survey_views import SurveyView
from app.services.uncorrected import unexplained
from app.web.database import Read
from app.web.door import pages
from app.web.drawn import row_bar, scale
from app.web.pages.drawing import Drawing, DrawingPage, Exaggeration, asked
from app.web.pages.job_desk import other_reference
from app.web.pages.result_words import FEW, plainly_said, plus_minus, verdict_mark
from app.web.pages.seen import seen_with, settled_since
from app.web.pages.stage_drawing import Drawn, Way, beside, chosen_way, overlaid, times_of, ways
from app.web.pages.words import Mark, Said, machine_name, mark, said_apart
from app.web.rendering import Page, show
from app.web.routes import path_to
from app.web.visits import Here, Visit
from app.wording import cautions, changes, labels, numbers
from app.wording.moments import moment
from app.wording.sections import Section, sorted_into
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Stage:
    """One of the measurements."""

    phase: str
    survey: int
    finding: Mark
    when: str


@dataclass(frozen=True, slots=True)
class Meanwhile:
    """One of several measurements during the correction, to choose from."""

    survey: int
    chosen: bool


@dataclass(frozen=True, slots=True)
class Cell:
    """A characteristic in one of the measurements."""

    phase: str
    sense: str
    uncertainty: str


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One characteristic in all of them."""

    name: str
    cells: tuple[Cell, ...]
    change: str
    """What changed from the first to the last, which way, and how well that is known; empty where
    it cannot be told."""
    odd: str
    """That nothing was noted which explains the change; else empty."""
    allowed: str
    bar: Markup
    finding: Mark | None


@dataclass(frozen=True, slots=True)
class ChangeGroup:
    """One section: its rows, or where they can be seen."""

    code: str
    title: str
    said: str
    """Why it has no rows here; empty where it has."""
    href: str
    rows: tuple[ChangeRow, ...]


@dataclass(frozen=True, kw_only=True)
class ComparisonPage(Page):
    template: ClassVar[str] = "pages/before_and_after.html"
    number: str
    machine: str
    plainly: str
    seen: str
    """What the visual check saw when the last was submitted; else empty."""
    since: str
    """What of it was replaced, repaired or no damage since; else empty."""
    said: Said
    stages: tuple[Stage, ...]
    meanwhile: tuple[Meanwhile, ...]
    """Empty unless there are several to choose from."""
    way: str
    ways: tuple[Way, ...]
    drawing: Drawing
    times: Exaggeration | None
    plus_minus: str
    scale: Markup
    """What all tolerance bars of the page share."""
    groups: tuple[ChangeGroup, ...]
    other_reference: tuple[str, ...] = ()
    """That the reference is not of this machine, and why it was chosen."""
    same_reference: bool
    no_change_because: str
    caution: str


@pages.add("GET", "/jobs/{number}/before-and-after", "surveys.read")
def before_and_after(request: Request, visit: Here, session: Read, number: str) -> Response:
    """The last measurement beside the ones before it."""
    found = found_for(request, visit, session, number)
    job = jobs.read(session, visit.person, number)
    other = tuple(other_reference(session, visit.person, job))
    return show(request, visit, replace(page_of(found, job, request), other_reference=other))


@pages.add("GET", "/jobs/{number}/before-and-after/drawing", "surveys.read")
def comparison_drawing(request: Request, visit: Here, session: Read, number: str) -> Response:
    """Their drawing alone, deviations as many times as asked for."""
    found = found_for(request, visit, session, number)
    way = chosen_way(request)
    drawn = drawing_of(found, way, asked(request, "times"))
    page = DrawingPage(
        title=_("Outline: {phases}").format(phases=title_of(found)),
        number=number,
        back=path_to("before_and_after", number=number),
        back_label=title_of(found),
        drawing=drawn[0],
        times=times_of(found, way, drawn, "comparison_drawing"),
    )
    return show(request, visit, page)


def found_for(request: Request, visit: Visit, session: Session, number: str) -> Stages:
    """The measurements that the address asks for. Raises NotFound."""
    found = stages(session, visit.person, number, asked(request, "during"))
    if found is None:
        raise NotFound("no_such_survey", None, met=_("before and after"))
    return found


def drawing_of(found: Stages, way: str, times: int | None) -> Drawn:
    """All in one drawing, or one view of each."""
    return overlaid(found, times) if way == "overlaid" else beside(found, way, times)


def page_of(found: Stages, job: JobView, request: Request) -> ComparisonPage:
    """All results in words."""
    way, last = chosen_way(request), found.last.result
    drawn = drawing_of(found, way, asked(request, "times"))
    return ComparisonPage(
        title=title_of(found),
        number=found.last.job_number,
        machine=" · ".join([machine_name(job.machine), job.machine.frame_number]),
        plainly=plainly_said(last),
        seen=seen_with(job, last["finding"]["verdict"], found.last.submitted_at),
        since=settled_since(job, found.last.submitted_at),
        said=said_apart(last["finding"]["sentence"]),
        stages=tuple(map(stage_of, found.shown)),
        meanwhile=meanwhile_of(found),
        way=way,
        ways=ways(found, way, drawn[1]),
        drawing=drawn[0],
        times=times_of(found, way, drawn, "before_and_after"),
        plus_minus=plus_minus(last),
        scale=scale(),
        groups=groups_of(found, request, unexplained(found, job.corrections)),
        same_reference=found.same_reference,
        no_change_because=found.no_change_because,
        caution=cautions.one_line(),
    )


def title_of(found: Stages) -> str:
    """What the page answers, and the phases that stand beside each other."""
    phases = {
        ("before", "after"): _("before and after"),
        ("before", "during"): _("before and during it"),
        ("during", "after"): _("during it and after"),
    }
    shown = (found.first.phase, found.last.phase)
    told = _("before, during and after") if len(found.shown) > len(shown) else phases[shown]
    return _("What the correction changed: {phases}").format(phases=told)


def stage_of(view: SurveyView) -> Stage:
    """One measurement with its finding."""
    return Stage(
        phase=labels.phase(view.phase),
        survey=view.number,
        finding=mark(view.result["finding"]["verdict"]),
        when=moment(view.measured_at or view.submitted_at),
    )


def meanwhile_of(found: Stages) -> tuple[Meanwhile, ...]:
    """The measurements during the correction, where there are several."""
    shown = {view.number for view in found.shown}
    several = found.during if len(found.during) > 1 else ()
    return tuple(Meanwhile(number, number in shown) for number in several)


def groups_of(
    found: Stages, request: Request, odd: frozenset[str] = frozenset()
) -> tuple[ChangeGroup, ...]:
    """All characteristics of any of them, section by section, in the order of the last. odd: keys
    of changes that nothing explains."""
    by_key = [{one["key"]: one for one in view.result["characteristics"]} for view in found.shown]
    keys = list(dict.fromkeys(key for one in reversed(by_key) for key in one))
    asked_for = request.query_params.get("part", "")
    return tuple(
        group_of(found, request, section, rows_of(found, by_key, inside, odd))
        if len(keys) <= FEW
        or section.code == asked_for
        or worth_a_look(by_key, inside)
        or odd.intersection(inside)
        else group_of(found, request, section, ())
        for section, inside in sorted_into(keys, str)
    )


def group_of(
    found: Stages, request: Request, section: Section, rows: tuple[ChangeRow, ...]
) -> ChangeGroup:
    """One section. Without rows it is told that it needs no look, and where it is shown."""
    names = ("way", "during", "times")
    query = {one: request.query_params[one] for one in names if one in request.query_params}
    here = path_to(
        "before_and_after", {**query, "part": section.code}, number=found.last.job_number
    )
    said = "" if rows else _("nothing outside or undecided in any of them")
    return ChangeGroup(section.code, section.title, said, f"{here}#{section.code}", rows)


def rows_of(
    found: Stages,
    by_key: Sequence[dict[str, CharacteristicOut]],
    keys: Sequence[str],
    odd: frozenset[str],
) -> tuple[ChangeRow, ...]:
    """The rows of a section."""
    told = found.change["characteristics"] if found.change else []
    changed = {one["key"]: unbroken(one["sense"]) for one in told}
    phases = [labels.phase(view.phase) for view in found.shown]
    return tuple(
        row_of(
            phases,
            [one.get(key) for one in by_key],
            changed.get(key, ""),
            changes.unexplained() if key in odd else "",
        )
        for key in keys
    )


def worth_a_look(by_key: Sequence[dict[str, CharacteristicOut]], keys: Sequence[str]) -> bool:
    """Whether any of these was not within its limits in one of the measurements."""
    found = {one[key]["verdict"] for one in by_key for key in keys if key in one}
    return bool(found & {"outside", "undecided"})


def unbroken(words: str) -> str:
    """The words with no line's end between a sign and its number."""
    return words.replace("± ", "±\N{NO-BREAK SPACE}")


def row_of(
    phases: Sequence[str], found: Sequence[CharacteristicOut | None], change: str, odd: str
) -> ChangeRow:
    """One characteristic, of which at least one measurement has it."""
    shown = next(one for one in reversed(found) if one is not None)
    first, last = found[0], found[-1]
    limited = shown["lower"] is not None or shown["upper"] is not None
    return ChangeRow(
        name=shown["name"],
        cells=tuple(cell_of(phase, one) for phase, one in zip(phases, found, strict=True)),
        change=change,
        odd=odd,
        allowed=numbers.limits(shown["lower"], shown["upper"], shown["unit"]) if limited else "",
        bar=row_bar(last, first) if last else Markup(""),
        finding=verdict_mark(last) if last else None,
    )


def cell_of(phase: str, one: CharacteristicOut | None) -> Cell:
    """One characteristic in one measurement."""
    return Cell(phase, one["sense"] if one else _("not measured"), spread(one))


def spread(one: CharacteristicOut | None) -> str:
    """The expanded uncertainty with its unit; empty where it is nothing by definition."""
    if one is None or not one["expanded_uncertainty"]:
        return ""
    expanded = one["expanded_uncertainty"]
    return unbroken(numbers.spread(expanded, one["unit"], numbers.places(expanded)))
