"""What the first page of a certificate answers at once: what was found, how sure, by whom, with
what, since when, after which corrections."""

from collections.abc import Mapping

from app.documents.content import Line as Fact
from app.schemas.result import ResultOut
from app.services.certificate_case import Case, measured_by, one_person
from app.services.certificate_corrections import corrections_in_brief
from app.services.certificate_facts import facts, moment_of
from app.services.certificate_method import calibration_lines, instrument_name
from app.services.certificate_visual_check import held_items, place_of, with_place
from app.services.surveys import SurveyView
from app.wording import certainty, jobs, moments
from app.wording.translation import _
from app.wording.verdicts import Tally


def headline(result: ResultOut) -> str:
    """The finding in one sentence."""
    finding = result["finding"]
    return certainty.headline(finding["verdict"], finding["sentence"], tally_of(result))


def beside_headline(result: ResultOut) -> tuple[str, ...]:
    """What the stored text of a finding says beyond its headline and what no finding speaks of."""
    rest = result["finding"]["sentence"].removeprefix(headline(result))
    told = certainty.without_usual_end(rest).strip()
    return (told,) if told else ()


def how_sure(result: ResultOut, *, seen: bool = False) -> str:
    """How sure the finding is, and what it does not speak of.

    seen: whether damage was seen that figures do not show; the page tells it below.
    """
    outside = [
        one["probability_within"]
        for one in result["characteristics"]
        if one["verdict"] == "outside" and one["probability_within"] is not None
    ]
    tally = tally_of(result)
    code = result["finding"]["verdict"]
    sure = certainty.how_sure(code, tally, max(outside, default=None))
    if tally.probability_all is None and not outside:
        return f"{sure} {certainty.beside(code, tally, seen=seen)}"
    slip = certainty.slip_left_out(result["rig_check"]["detectable_slip_mm"])
    return f"{sure} {slip} {certainty.beside(code, tally, seen=seen)}"


def on_hold(case: Case) -> str:
    """What was seen and is not settled: it means more than any finding."""
    found = {one.item: one for one in case.job.visual_checks}
    names = [
        with_place(jobs.item(item), place_of(found.get(item))) for item in held_items(case.job)
    ]
    if not names:
        return ""
    return _("{items}. Seen, and not settled.").format(items=", ".join(names))


def tally_of(result: ResultOut) -> Tally:
    """The verdicts of a stored result, counted as when its sentence was made."""

    def keys(verdict: str) -> tuple[str, ...]:
        return tuple(one["key"] for one in result["characteristics"] if one["verdict"] == verdict)

    return Tally(
        reference="",
        within=keys("within"),
        outside=keys("outside"),
        undecided=keys("undecided"),
        missing=tuple(result["finding"]["missing"]),
        probability_all=result["finding"]["probability_all"],
        threshold=result["threshold"],
        moved=result["rig_check"]["verdict"] == "moved",
        not_required=tuple(one["key"] for one in result["characteristics"] if not one["required"]),
    )


def measured_lines(case: Case, survey: SurveyView) -> tuple[Fact, ...]:
    """When, by whom, with what, and whether that was in calibration."""
    calibrated = dict(calibration_lines(survey))
    return facts(
        (_("Measured earlier"), moment_of(case.before) if case.before else None),
        (_("Measured"), moment_of(survey)),
        (_("Measured by"), measured_by(case)),
        (_("Instrument"), instrument_name(case.instrument, survey) or _("not stated")),
        (_("In calibration"), in_calibration_by(calibrated)),
    )


def in_calibration_by(calibrated: Mapping[str, str | None]) -> str:
    """Whether it was in calibration, and who had calibrated it where that is on record."""
    answer = calibrated[_("In calibration when measured")] or ""
    by = calibrated[_("Calibrated by")]
    return _("{answer}; calibrated by {name}").format(answer=answer, name=by) if by else answer


def in_force_lines(case: Case, issued: str) -> tuple[Fact, ...]:
    """Since when it is in force, who authorised it, and what was done before."""
    who = ", ".join(part for part in (case.signer.name, case.signer.title) if part)
    if one_person(case):
        who = _("{name}. One person measured and authorised.").format(name=who)
    return facts(
        (_("Received"), moments.day(case.job.received_at)),
        (_("Corrections"), corrections_in_brief(case)),
        (_("Issued"), issued),
        (_("In force"), _("from then until replaced or withdrawn")),
        (_("Authorised by"), who),
    )
