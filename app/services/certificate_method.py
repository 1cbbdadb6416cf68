"""How it was measured, with what, and what was not: the evidence pages of a certificate."""

from datetime import date

from app.documents.content import Line as Fact
from app.schemas.result import ResultOut
from app.services.certificate_case import Case
from app.services.certificate_facts import facts, moment_of
from app.services.certificate_sources import sources_of_reference
from app.services.instruments import CalibrationView, InstrumentView
from app.services.job_views import SurveyLine
from app.services.references import RevisionView
from app.services.surveys import SurveyView
from app.wording import checks, itself, jobs, labels, levelling, moments, verdicts
from app.wording.numbers import plain
from app.wording.sections import section_of
from app.wording.translation import _


def instrument_lines(of_shop: InstrumentView | None, survey: SurveyView) -> tuple[Fact, ...]:
    """The instrument with its calibration."""
    stated = survey.survey.instrument
    u = stated.standard_uncertainty_mm
    of_each = _("as stated for each point")
    if u is not None:
        of_each = _("{u} mm, standard, of each coordinate").format(u=plain(u))
    return facts(
        (_("Instrument"), instrument_name(of_shop, survey)),
        *calibration_lines(survey),
        (_("Uncertainty"), of_each),
        (_("Scale uncertainty"), with_unit(stated.scale_u_ppm, "ppm")),
        (_("Probe radius"), with_unit(stated.probe_radius_mm, "mm")),
    )


def instrument_name(of_shop: InstrumentView | None, survey: SurveyView) -> str:
    """What the instrument is called, as the shop knows it, else as the measurement says."""
    if of_shop is None:
        return survey.survey.instrument.name or ""
    serial = of_shop.serial_number
    number = _("serial number {number}").format(number=serial) if serial else ""
    return ", ".join(part for part in (of_shop.name, of_shop.kind, number) if part)


def with_unit(value: float | None, unit: str) -> str | None:
    """A number with its unit; None for nothing."""
    return f"{plain(value)} {unit}" if value else None


def calibration_lines(survey: SurveyView) -> tuple[tuple[str, str | None], ...]:
    """When it was calibrated, until when, and by whom."""
    calibration: CalibrationView | None = survey.calibration
    stated = survey.survey.instrument
    calibrated = calibration.calibrated if calibration else stated.calibrated
    due = calibration.due if calibration else stated.due
    laboratory = calibration.laboratory if calibration else None
    number = calibration.document_number if calibration else None
    return (
        (_("Calibrated"), moments.day(calibrated) if calibrated else _("not stated")),
        (_("In calibration when measured"), on_that_day(survey, due)),
        (_("Calibrated by"), laboratory),
        (_("Its certificate"), number),
    )


def on_that_day(survey: SurveyView, due: date | None) -> str:
    """Whether the instrument was in calibration when it was measured with, and until when."""
    if survey.in_calibration is None:
        return _("not known")
    answer = _("yes") if survey.in_calibration else _("no")
    return _("{answer}, due {day}").format(answer=answer, day=moments.day(due)) if due else answer


def conditions(survey: SurveyView) -> tuple[Fact, ...]:
    """Temperature, mounting, and how many points."""
    sent = survey.survey
    temperature = _("not recorded")
    if sent.part_temperature_c is not None:
        temperature = f"{plain(sent.part_temperature_c)} °C"
    if sent.after_ride_in:
        temperature = _("{temperature}, after a ride-in").format(temperature=temperature)
    return facts(
        (_("Temperature"), temperature),
        (_("Mounting"), sent.mounting or _("not recorded")),
        (_("Points"), str(len(sent.points))),
        (_("Measurement"), _("no. {number} of the job").format(number=survey.number)),
    )


def method(case: Case, survey: SurveyView, kind: str) -> tuple[str, ...]:
    """How the results came about, in sentences."""
    result = survey.result
    estimate = _(
        "All points enter one weighted least-squares estimate of the chassis' own datum (the "
        "swing-arm pivot axis and the faces beside it) and of the steering axis; uncertainties "
        "are carried through it (calculated by Jigbook, version {version} of its method)."
    ).format(version=result["engine_version"])
    sentences = [
        estimate,
        *further(result),
        reference_sentence(case.reference),
        *sources_of_reference(case.reference, result),
        levelling.sentence(result["levelling"], result.get("levelled_by", [])),
        result["rig_check"]["sentence"],
        result["noise_check"]["sentence"],
        checks.orientation(result["orientation"]),
        *trials(result),
    ]
    if case.before is not None:
        sentences.append(before_sentence(case.before, survey))
    sentences += [measurements_of_job(case, survey, kind), *map(in_one_line, case.further)]
    return tuple(sentence for sentence in sentences if sentence)


def before_lines(case: Case) -> tuple[Fact, ...]:
    """How the measurement before the correction was made; nothing where there was none."""
    before = case.before
    if before is None:
        return ()
    return facts(
        (_("Measured earlier"), moment_of(before)),
        (_("Measured by"), before.survey.by or before.submitted_by),
        *((line.label, line.value) for line in instrument_lines(case.before_instrument, before)),
        *((line.label, line.value) for line in conditions(before)),
    )


def before_method(case: Case) -> tuple[str, ...]:
    """How it was found what was found before the correction."""
    if case.before is None:
        return ()
    result = case.before.result
    sentences = (
        levelling.sentence(result["levelling"], result.get("levelled_by", [])),
        result["rig_check"]["sentence"],
        result["noise_check"]["sentence"],
        checks.orientation(result["orientation"]),
    )
    return tuple(sentence for sentence in sentences if sentence)


def further(result: ResultOut) -> tuple[str, ...]:
    """How what lies beyond the head was found; nothing where the head alone was measured."""
    sections = {section_of(one["key"]) for one in result["characteristics"]}
    if not sections & {"frame", "arm", "fork", "wheels"}:
        return ()
    return (
        _(
            "Further points, axes, fork legs and wheels are fitted to their own points by their "
            "uncertainties and set against that datum; what all points have in common, such as "
            "the instrument's scale, is carried through to every result."
        ),
    )


def trials(result: ResultOut) -> tuple[str, ...]:
    """That uncertainties come from simulated measurements, where they do."""
    found = result.get("monte_carlo")
    return (found["sentence"],) if found else ()


def reference_sentence(reference: RevisionView | None) -> str:
    """Which reference, and where it came from."""
    if reference is None:
        return ""
    parts = (reference.make, reference.model, reference.years)
    name = " ".join(part for part in parts if part)
    provenance = reference.reference.provenance
    source = _("source not stated")
    if provenance is not None:
        source = jobs.provenance(provenance.kind)
        source += f": {provenance.detail}" if provenance.detail else ""
    return _("Reference: {name}, revision {number}; {source}.").format(
        name=name or _("without a name"), number=reference.number, source=source.rstrip(".")
    )


def before_sentence(before: SurveyView, after: SurveyView) -> str:
    """Whether before and after can be compared line by line."""
    of_before = (before.reference_id, before.reference_revision)
    if of_before == (after.reference_id, after.reference_revision):
        return _("The earlier measurement was judged by the same reference.")
    return _("The earlier measurement was judged by another reference or revision.")


def measurements_of_job(case: Case, survey: SurveyView, kind: str) -> str:
    """All measurements of the job in their order, and which of them this certificate is of."""
    told = ", ".join(measurement_in_brief(one, case, survey, kind) for one in case.job.surveys)
    return _("Measurements of this job: {measurements}.").format(measurements=told)


def in_one_line(survey: SurveyView) -> str:
    """What a measurement found that is printed no further: its finding, what was outside and which
    way."""
    result = survey.result
    outside = [
        _("{name}, {sense}").format(name=labels.characteristic(one["key"]), sense=one["sense"])
        for one in result["characteristics"]
        if one["verdict"] == "outside"
    ]
    finding = verdicts.finding(result["finding"]["verdict"])
    told = _("Measurement no. {number} {phase}, {moment}, by {name}: {finding}.").format(
        number=survey.number,
        phase=labels.phase(survey.phase),
        moment=moment_of(survey),
        name=survey.survey.by or survey.submitted_by or _("the shop"),
        finding=": ".join([finding, "; ".join(outside)]) if outside else finding,
    )
    return told + " " + _("Its results are not printed here; they stand in the attached data.")


def measurement_in_brief(line: SurveyLine, case: Case, survey: SurveyView, kind: str) -> str:
    """One measurement by number and phase, with its part in this certificate."""
    said = _("no. {number} {phase}").format(number=line.number, phase=labels.phase(line.phase))
    if line.number == survey.number:
        return itself.of("its_measurement", kind).format(measurement=said)
    if case.before is not None and line.number == case.before.number:
        return _("{measurement} (set beside it)").format(measurement=said)
    if line.superseded_by is not None:
        replaced = _("{measurement} (replaced by {number})")
        return replaced.format(measurement=said, number=line.superseded_by)
    return said
