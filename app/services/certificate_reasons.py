"""Why a certificate may not be issued: every reason at once, so that nobody is sent twice."""

from collections.abc import Iterator

from app.errors import Problem
from app.services.certificate_case import Case, day_of, one_person
from app.services.permissions import Actor, allowed
from app.services.surveys import SurveyView
from app.wording import jobs as job_words
from app.wording import labels, moments, verdicts


def reasons(case: Case, actor: Actor, kind: str) -> tuple[Problem, ...]:
    """All reasons against a certificate of this kind; empty when it may be issued."""
    found = [*against_signer(case, actor)]
    if case.survey is None:
        return (Problem("no_survey", "survey"), *found)
    found = [
        *against_the_unanswered(case),
        *against_survey(case.survey),
        *(same.problem() for same in case.same_points),
        *against_instrument(case, case.survey),
        *found,
    ]
    if kind == "completion":
        found += [*against_completion(case, case.survey)]
    return tuple(found)


def against_signer(case: Case, actor: Actor) -> Iterator[Problem]:
    """Only an inspector signs; where the shop sets so, not the one who measured."""
    if not allowed(actor, "certificates.issue"):
        yield Problem("signer_may_not_sign", "signer")
    elif not case.shop.measurer_may_sign and one_person(case):
        yield Problem("signer_may_not_sign", "signer", {"what": "measured"})


def against_the_unanswered(case: Case) -> Iterator[Problem]:
    """What the inspector wanted first is neither measured nor answered."""
    if case.job.sent_back is not None:
        yield Problem("sent_back_unanswered", "survey")


def against_survey(survey: SurveyView) -> Iterator[Problem]:
    """What no certificate may rest on."""
    result = survey.result
    if result["rig_check"]["verdict"] == "moved":
        yield Problem("set_up_moved", "survey", {"survey": survey.number})
    if result["orientation"] != "checked":
        yield Problem("orientation_not_checked", "survey", {"survey": survey.number})
    if not in_calibration(survey):
        yield Problem("instrument_out_of_calibration", "instrument")
    if result["finding"]["missing"]:
        names = ", ".join(labels.characteristic(key) for key in result["finding"]["missing"])
        yield Problem("required_missing", "survey", {"missing": names})
    if survey.reference_id is None:
        yield Problem("no_reference_revision", "reference")


def against_instrument(case: Case, survey: SurveyView) -> Iterator[Problem]:
    """What the instrument's own record says: its check bar, and the handedness of its axes."""
    name, record = survey.instrument_name or "", case.instrument_standing
    if record.unexplained:
        facts = {"instrument": name, "readings": "; ".join(record.unexplained[:3])}
        yield Problem("check_bar_out_of_control", "instrument", facts)
    if record.left_handed_on is not None and not shows_its_own_turn(survey):
        day = moments.day(record.left_handed_on)
        facts = {"instrument": name, "checked": day}
        yield Problem("instrument_left_handed", "instrument", facts)


def shows_its_own_turn(survey: SurveyView) -> bool:
    """Whether the measurement has stations turned to both sides: the engine has compared them."""
    turns = {point.turn for point in survey.survey.points if point.feature == "steer_target"}
    return {"left", "right"} <= turns


def against_completion(case: Case, survey: SurveyView) -> Iterator[Problem]:
    """What a completion certificate asks beyond a report."""
    finding = survey.result["finding"]["verdict"]
    if finding != "within":
        yield Problem("finding_not_within", "survey", {"finding": verdicts.finding(finding)})
    for hold in case.job.holds:
        if hold.closed_at is None:
            yield Problem("hold_open", "visual_check", {"item": job_words.item(hold.item)})
    if not datum_measured_again(survey):
        yield Problem("datum_not_measured_again", "survey")
    if any(correction.done_at > survey.submitted_at for correction in case.job.corrections):
        yield Problem("corrected_since_measured", "survey")


def in_calibration(survey: SurveyView) -> bool:
    """Whether the instrument was in calibration on the day of the measurement.

    Where no instrument of the shop was chosen, the measurement's own statement counts; with
    neither it is not known, and so not so.
    """
    if survey.in_calibration is not None:
        return survey.in_calibration
    stated = survey.survey.instrument
    if stated.calibrated is None or stated.due is None:
        return False
    return stated.calibrated <= day_of(survey) <= stated.due


def datum_measured_again(survey: SurveyView) -> bool:
    """Whether the pivot on both sides and one face beside it carry a return.

    Only that shows that the set-up stood still between datum and steering.
    """
    again = {
        (point.feature, point.label)
        for point in survey.survey.points
        if point.station is not None and point.station.startswith("return")
    }
    faces = {("pivot_face", "left"), ("pivot_face", "right")}
    return {("pivot", "left"), ("pivot", "right")} <= again and bool(faces & again)
