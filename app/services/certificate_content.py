"""The words of a certificate, from what is on record; it prints stored results as they are."""

from dataclasses import dataclass
from datetime import datetime

from app.documents.content import CertificateContent, People
from app.documents.content import Line as Fact
from app.schemas.result import ResultOut
from app.services.before_after import change_or_why
from app.services.certificate_case import Case, measured_by, one_person
from app.services.certificate_corrections import (
    correction_caution,
    correction_lines,
    correction_words,
)
from app.services.certificate_disagreements import disagreement
from app.services.certificate_facts import facts, moment_of
from app.services.certificate_first_page import (
    beside_headline,
    headline,
    how_sure,
    in_force_lines,
    measured_lines,
    on_hold,
)
from app.services.certificate_method import (
    before_lines,
    before_method,
    conditions,
    instrument_lines,
    method,
)
from app.services.certificate_not_measured import (
    not_measured,
    not_measured_in_brief,
    not_told_apart,
)
from app.services.certificate_photos import photos_words, printed_photos
from app.services.certificate_received import (
    in_brief,
    of_damage,
    received_lines,
    received_words,
)
from app.services.certificate_results import characteristic_lines, handling_lines
from app.services.certificate_sources import about_reference, not_the_makers, without_source
from app.services.certificate_visual_check import means_replacement, visual_check
from app.services.jobs import JobView
from app.services.surveys import SurveyView
from app.wording import (
    cautions,
    certainty,
    checks,
    handling,
    itself,
    jobs,
    moments,
    numbers,
    orders,
    verdicts,
)
from app.wording.enumeration import characteristics
from app.wording.errors import explain
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Issue:
    """What a certificate gets when it is issued, beside what is on record."""

    number: str
    kind: str
    now: datetime
    check_address: str
    authority_sha256: str
    signer_sha256: str
    replaces: str
    """The sentence about the certificate that this one replaces, or empty."""
    opinion: str
    """Words of the signer that are no measured result, or empty."""


def certificate_content(case: Case, survey: SurveyView, issue: Issue) -> CertificateContent:
    """All that is printed. `survey` is the case's measurement."""
    result = survey.result
    before = case.before
    change, no_change = change_or_why(before, survey)
    return CertificateContent(
        number=issue.number,
        kind=issue.kind,
        title=capitalised(title(case, issue.kind)),
        language=case.shop.language,
        shop=case.shop.lines,
        finding=result["finding"]["verdict"],
        finding_words=verdicts.finding(result["finding"]["verdict"]),
        finding_sentence=result["finding"]["sentence"],
        replaces=issue.replaces,
        machine=machine_lines(case.job),
        claim=claim_lines(case.job),
        dates=date_lines(case, survey, issue.now),
        people=people(case),
        characteristics=characteristic_lines(
            result,
            before.result if before else None,
            change,
            not_makers=not_the_makers(case.reference, result),
            no_source=without_source(case.reference, result),
        ),
        outline=result["outline"],
        outline_before=before.result["outline"] if before else None,
        decision_rule=decision_rule(survey),
        instrument=instrument_lines(case.instrument, survey),
        conditions=conditions(survey),
        method=method(case, survey, issue.kind),
        not_measured=not_measured(survey, case.reference, *of_damage(case, survey)),
        notices=tuple(warning["message"] for warning in result["warnings"]),
        visual_check=visual_check(case.job),
        opinions=opinions(issue, case),
        cautions=tuple(cautions.everywhere()),
        scope=scope(case, issue.kind),
        issued_at=moments.here(issue.now).isoformat(timespec="seconds"),
        check_address=issue.check_address,
        authority_sha256=issue.authority_sha256,
        signer_sha256=issue.signer_sha256,
        subtitle=subtitle(case, issue.kind),
        handling=handling_lines(result),
        handling_caveat=handling.caveat(),
        fork_bends=checks.fork_bends(result.get("fork_bend_mm", {})),
        parts_not_measured=left_out_in_brief(case, survey),
        not_told_apart=not_told_apart(survey, brief=True),
        no_change_because=explain(no_change).sentence if no_change else "",
        time_zone=case.shop.time_zone,
        headline=headline(result),
        about_reference=about_reference(case, result),
        how_sure=how_sure(result, seen=bool(means_replacement(case.job))),
        on_hold=on_hold(case),
        on_damage=cautions.on_damage() if means_replacement(case.job) else "",
        before_headline=headline(before.result) if before else "",
        measured=measured_lines(case, survey),
        in_force=in_force_lines(case, moments.moment_with_zone(issue.now)),
        received=received_lines(case),
        received_words=" ".join(filter(None, [received_words(case), disagreement(case.job)])),
        corrections=correction_lines(case),
        corrections_words=correction_words(case, survey),
        corrections_caution=correction_caution(case),
        before=before_lines(case),
        before_method=(*(beside_headline(before.result) if before else ()), *before_method(case)),
        phase=survey.phase,
        photos=printed_photos(case),
        photos_words=photos_words(case),
    )


def left_out_in_brief(case: Case, survey: SurveyView) -> str:
    """What was not measured, damage of which nothing is on record, new parts, in one line."""
    told = [not_measured_in_brief(survey, case.reference), *in_brief(case, survey)]
    return " ".join(filter(None, told))


def title(case: Case, kind: str) -> str:
    """What it is called: nothing is called complete where nobody noted a correction."""
    certifies = kind == "completion" and not case.job.corrections
    return jobs.certificate_of_measurement() if certifies else jobs.kind(kind)


def subtitle(case: Case, kind: str) -> str:
    """That it certifies no repair, below the title of one that could be taken to; else empty."""
    if kind != "completion" or case.job.corrections:
        return ""
    return orders.nothing_corrected(orders.scope_code(case.job.authorised_scope or ""))


def capitalised(words: str) -> str:
    """The words with a capital at the front."""
    return words[:1].upper() + words[1:]


def machine_lines(job: JobView) -> tuple[Fact, ...]:
    """Which machine."""
    machine = job.machine
    model = [machine.make, machine.model, str(machine.year) if machine.year else ""]
    odometer = f"{job.odometer_km} km" if job.odometer_km is not None else None
    return facts(
        (_("Make and model"), " ".join(part for part in model if part)),
        (_("Frame number"), machine.frame_number),
        (_("Plate"), machine.plate),
        (_("Colour"), machine.colour),
        (_("Odometer"), odometer),
    )


def claim_lines(job: JobView) -> tuple[Fact, ...]:
    """For whom, under which claim, and of which day."""
    happened = job.incident.happened_on
    return facts(
        (_("Customer"), job.customer.name),
        (_("Insurer"), job.claim.insurer_name or _("none on record")),
        (_("Claim number"), job.claim.claim_number or _("none on record")),
        (_("Happened on"), moments.day(happened) if happened else None),
        (_("Job"), job.number),
    )


def date_lines(case: Case, survey: SurveyView, now: datetime) -> tuple[Fact, ...]:
    """When the machine came, when it was measured, when this was issued."""
    before = moment_of(case.before) if case.before else None
    return facts(
        (_("Received"), moments.day(case.job.received_at)),
        (_("Measured earlier"), before),
        (_("Measured"), moment_of(survey)),
        (_("Issued"), moments.moment_with_zone(now)),
    )


def people(case: Case) -> People:
    """Who measured and who authorises."""
    return People(
        measured_by=measured_by(case),
        authorised_by=case.signer.name,
        authorised_title=case.signer.title,
        same_person=one_person(case),
    )


def decision_rule(survey: SurveyView) -> tuple[str, ...]:
    """The rule behind the verdicts, and that behind the overall finding."""
    finding = survey.result["finding"]
    together = _(
        "Overall, within is said when every required characteristic is within and the probability "
        "that all are so at once reaches the same threshold; outside when any characteristic "
        "with a limit is outside."
    )
    rule = [checks.decision_rule(survey.result["threshold"]), together]
    if finding["probability_all"] is not None:
        at_once = _("The probability that all required ones are within at once is {p}.")
        rule.append(at_once.format(p=numbers.probability(finding["probability_all"])))
        slip = survey.result["rig_check"]["detectable_slip_mm"]
        rule[-1] += " " + certainty.slip_left_out(slip)
    if unlimited := required_without_limit(survey.result):
        no_limit = _("Required, but without a limit, and so not judged: {names}.")
        rule.append(no_limit.format(names=characteristics(unlimited)))
    return tuple(rule)


def required_without_limit(result: ResultOut) -> list[str]:
    """Keys of what the reference requires to be measured and has no limit for."""
    return [
        one["key"]
        for one in result["characteristics"]
        if one["required"] and one["verdict"] == "no_tolerance"
    ]


def opinions(issue: Issue, case: Case) -> tuple[str, ...]:
    """Opinions, marked as such, or that there are none."""
    if not issue.opinion:
        return (itself.of("no_opinions", issue.kind),)
    marked = _("Opinion of {name}, not a measured result: {words}")
    return (marked.format(name=case.signer.name, words=issue.opinion),)


def scope(case: Case, kind: str) -> tuple[str, ...]:
    """What the results concern, and what is not claimed."""
    sentences = [
        _("The results concern only the machine with this frame number, as it was measured."),
        itself.of("claims_nothing", kind),
    ]
    if case.shop.own_statement:
        states = _("The shop itself states: {words}")
        sentences[1] = states.format(words=case.shop.own_statement)
    sentences.append(_("It may be passed on as a whole only."))
    return tuple(sentences)
