"""The finding: the sentence first, then the drawing, the table, and what lies behind it."""

from dataclasses import dataclass, replace
from typing import ClassVar

from fastapi import Request
from markupsafe import Markup
from starlette.responses import Response

from app.schemas.result import ResultOut
from app.services import jobs, surveys
from app.services.jobs import JobView
from app.services.look_alikes import Doubt, doubt_of
from app.services.same_points import SamePoints, same_points
from app.services.surveys import SurveyView
from app.web.database import Read
from app.web.door import pages
from app.web.drawn import Views, outline, scale
from app.web.pages.before_signing import OpenList, before_signing_of
from app.web.pages.download import attachment
from app.web.pages.drawing import Drawing, DrawingPage, Exaggeration, asked, exaggeration_of
from app.web.pages.handling_words import HandlingBlock, handling_of
from app.web.pages.job_desk import desk_of
from app.web.pages.result_words import Group, groups, outside, plainly_said, plus_minus
from app.web.pages.road import NextStep, next_for
from app.web.pages.seen import not_looked_at, seen_with, settled_since
from app.web.pages.words import Fact, Mark, Said, machine_name, mark, opened, said_apart
from app.web.rendering import Page, show
from app.web.routes import path_to
from app.web.visits import Here
from app.wording import cautions, checks, labels, levelling, numbers
from app.wording.errors import explain
from app.wording.moments import day, moment
from app.wording.translation import _


@dataclass(frozen=True, kw_only=True)
class FindingPage(Page):
    template: ClassVar[str] = "pages/finding.html"
    number: str
    survey: int
    superseded: int | None
    phase: str
    machine: str
    """What was measured, for the printed page."""
    finding: Mark
    plainly: str
    """The finding in the words of a customer."""
    doubt: Doubt | None = None
    """What it cannot tell apart, to be settled before anything is pulled."""
    seen: str
    """What the visual check saw when it was submitted; else empty."""
    not_looked_at: str
    """Which items of it nobody has looked at, in a sentence; else empty."""
    since: str
    """What of it was replaced, repaired or no damage since; else empty."""
    said: Said
    outside: tuple[str, ...]
    """What is bent and which way, a sentence each."""
    holds: str
    same_points: str
    """That another job had these points before, in a sentence; else empty."""
    other_reference: tuple[str, ...] = ()
    """That the reference is not of this machine, and why it was chosen."""
    moved: bool
    stages: bool
    """Whether there is a measurement of another phase to compare with."""
    next: NextStep
    drawing: Drawing
    drawn_larger: str
    """That what looks bent in the drawing is within its limits all the same; else empty."""
    times: Exaggeration | None
    plus_minus: str
    scale: Markup
    """What all tolerance bars of the page share."""
    groups: tuple[Group, ...]
    warnings: tuple[str, ...]
    checks: tuple[str, ...]
    handling: HandlingBlock | None
    made: tuple[Fact, ...]
    points: int
    cautions: tuple[str, ...]
    still_open: OpenList | None = None
    """What the inspector would read of it, told before it is handed over."""


@pages.add("GET", "/jobs/{number}/surveys/{survey}", "surveys.read")
def finding(request: Request, visit: Here, session: Read, number: str, survey: int) -> Response:
    """What one measurement found."""
    found = surveys.read(session, visit.person, number, survey)
    job = jobs.read(session, visit.person, number)
    same = same_points(session, visit.person, found)
    desk = desk_of(session, visit.person, job, visit.today)
    following = next_for(job, visit.person, desk.next)
    page = page_of(found, job, following, same, asked(request, "times"))
    stands, doubt = found.number == last(job), doubt_of(session, visit.person, found)
    page = replace(
        page,
        other_reference=desk.other_reference,
        doubt=doubt if stands or doubt is None else replace(doubt, measure=()),
        still_open=before_signing_of(session, visit, job) if stands else None,
    )
    return show(request, visit, page)


def last(job: JobView) -> int | None:
    """Number of the last measurement that stands: what would be certified."""
    standing = [one.number for one in job.surveys if one.superseded_by is None]
    return standing[-1] if standing else None


@pages.add("GET", "/jobs/{number}/surveys/{survey}/drawing", "surveys.read")
def finding_drawing(
    request: Request, visit: Here, session: Read, number: str, survey: int
) -> Response:
    """The drawing alone, deviations as many times as asked for."""
    found = surveys.read(session, visit.person, number, survey)
    views = outline(found.result, asked(request, "times"))
    alone = path_to("finding_drawing", number=number, survey=survey)
    page = DrawingPage(
        title=_("Outline of measurement {number}").format(number=survey),
        number=number,
        back=path_to("finding", number=number, survey=survey),
        back_label=_("Finding of measurement {number}").format(number=survey),
        drawing=Drawing(views),
        times=times_of(views, alone, alone),
    )
    return show(request, visit, page)


@pages.add("GET", "/jobs/{number}/surveys/{survey}/document", "surveys.read")
def survey_document(session: Read, visit: Here, number: str, survey: int) -> Response:
    """The measurement exactly as it was sent."""
    found = surveys.read(session, visit.person, number, survey)
    ending = "csv" if found.content_type == "text/csv" else "json"
    name = f"{found.job_number}-{found.number}.{ending}"
    return attachment(found.document.encode(), found.content_type, name)


def page_of(
    found: SurveyView,
    job: JobView,
    following: NextStep,
    same: SamePoints | None = None,
    times: int | None = None,
) -> FindingPage:
    """A survey in words."""
    result = found.result
    views = outline(result, times)
    holds = sum(hold.closed_at is None for hold in job.holds)
    return FindingPage(
        title=_("Finding of measurement {number}: {phase}").format(
            number=found.number, phase=labels.phase(found.phase)
        ),
        number=found.job_number,
        survey=found.number,
        superseded=found.superseded_by,
        phase=labels.phase(found.phase),
        machine=" · ".join([machine_name(job.machine), job.machine.frame_number]),
        finding=mark(result["finding"]["verdict"]),
        plainly=plainly_said(result),
        seen=seen_with(job, result["finding"]["verdict"], found.submitted_at),
        not_looked_at=not_looked_at(job),
        since=settled_since(job, found.submitted_at),
        said=said_apart(result["finding"]["sentence"]),
        outside=outside(result),
        holds=opened(holds),
        same_points=explain(same.problem()).sentence if same else "",
        moved=result["rig_check"]["verdict"] == "moved",
        stages=len({one.phase for one in job.surveys if one.superseded_by is None}) > 1,
        next=following,
        drawing=Drawing(views),
        drawn_larger=drawn_larger(result, views),
        times=times_of(
            views,
            path_to("finding", number=found.job_number, survey=found.number),
            path_to("finding_drawing", number=found.job_number, survey=found.number),
        ),
        plus_minus=plus_minus(result),
        scale=scale(),
        groups=groups(result),
        warnings=tuple(warning["message"] for warning in result["warnings"]),
        checks=checks_of(result),
        handling=handling_of(result),
        made=made_of(found),
        points=len(found.survey.points),
        cautions=tuple(cautions.everywhere()),
    )


def drawn_larger(result: ResultOut, views: Views | None) -> str:
    """A sound machine drawn fifty times looks as bent as a bent one drawn five times."""
    if views is None or result["finding"]["verdict"] != "within":
        return ""
    return _(
        "Deviations are drawn many times larger than they are: what looks bent here is within "
        "what is allowed wherever there is a limit."
    )


def times_of(views: Views | None, page: str, alone: str) -> Exaggeration | None:
    """By how many times deviations may be drawn, on the page at this address."""
    if views is None:
        return None
    return exaggeration_of(views.exaggeration, views.offered, page, alone)


def checks_of(result: ResultOut) -> tuple[str, ...]:
    """What was checked besides the characteristics, a sentence each."""
    return (
        result["rig_check"]["sentence"],
        result["noise_check"]["sentence"],
        checks.orientation(result["orientation"]),
        levelling.sentence(result["levelling"], result.get("levelled_by", [])),
        *checks.fork_bends(result.get("fork_bend_mm", {})),
        *trials_of(result),
        checks.decision_rule(result["threshold"]),
    )


def trials_of(result: ResultOut) -> tuple[str, ...]:
    """That uncertainties come from simulated measurements, where they do."""
    found = result.get("monte_carlo")
    return (found["sentence"],) if found else ()


def made_of(found: SurveyView) -> tuple[Fact, ...]:
    """How the measurement was made."""
    survey = found.survey
    submitted = " · ".join(filter(None, [moment(found.submitted_at), found.submitted_by]))
    temperature = survey.part_temperature_c
    lines = [
        Fact(_("Measured"), moment(found.measured_at) if found.measured_at else _("not stated")),
        Fact(_("By"), found.measured_by or _("not stated")),
        Fact(_("Submitted"), submitted),
        Fact(_("Instrument"), instrument_of(found)),
        Fact(_("How the machine stands"), survey.mounting or _("not stated")),
        Fact(
            _("Temperature of the part"),
            _("not stated") if temperature is None else f"{numbers.plain(temperature)} °C",
        ),
        Fact(_("Points"), str(len(survey.points))),
        Fact(
            _("Worked out by"),
            _("Jigbook's arithmetic, version {version}").format(version=found.engine_version),
        ),
    ]
    if found.supersedes:
        replaced = ": ".join(filter(None, [str(found.supersedes), found.supersedes_because]))
        lines.append(Fact(_("Takes the place of measurement"), replaced))
    return tuple(lines)


def instrument_of(found: SurveyView) -> str:
    """The instrument and the state of its calibration on the day of the measurement."""
    name = found.instrument_name or found.survey.instrument.name or _("not stated")
    if found.calibration is None:
        return name
    state = (
        _("in calibration until {day}")
        if found.in_calibration
        else _("out of calibration since {day}")
    )
    return f"{name}, {state.format(day=day(found.calibration.due))}"
