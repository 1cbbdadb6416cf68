"""From what was sent to what is answered: schemas in, engine, words out. No records, no clock."""

from math import nan

import numpy as np

from app.chassis.evaluate import evaluate
from app.chassis.result import (
    Characteristic,
    Distribution,
    MonteCarlo,
    Outline,
    OutlineElement,
    Result,
    Share,
)
from app.chassis.senses import sense_code
from app.chassis.survey import (
    NO_HANDLING,
    WHEEL_RUNOUT_U_MM,
    Handling,
    Instrument,
    Options,
    Reference,
    Survey,
    Tolerance,
)
from app.schemas.points import PointIn
from app.schemas.reference import ReferenceIn, RimWidthIn, ToleranceIn
from app.schemas.result import (
    CharacteristicOut,
    DistributionOut,
    FindingOut,
    MonteCarloOut,
    NoiseCheckOut,
    OutlineElementOut,
    OutlineOut,
    ResultOut,
    RigCheckOut,
    ShareOut,
    WarningOut,
)
from app.schemas.survey import InstrumentIn, SidesIn, SurveyIn
from app.schemas.trials import UNASKED, TrialsAsked
from app.wording import checks, handling, monte_carlo, senses, sources, verdicts, warnings
from app.wording.labels import characteristic as name_of
from app.wording.numbers import places


def solve(
    survey: SurveyIn,
    reference: ReferenceIn | None = None,
    threshold: float = 0.95,
    called: str = "",
    trials: TrialsAsked = UNASKED,
) -> ResultOut:
    """Evaluate one survey against a reference (or none) and put the result into words.

    `threshold` is the probability from which a verdict is given; `called` is what the reference
    is called in the finding's sentence, with its revision (else its make and model). `trials`:
    Monte Carlo, where it is wanted. Raises Refusal.
    """
    options = Options(threshold, *trials, shared=True)
    result = evaluate(to_engine(survey), reference_to_engine(reference), options)
    return in_words(result, called or (reference_name(reference) if reference else ""))


def reference_name(reference: ReferenceIn) -> str:
    """Return make, model and years of a reference in one line."""
    machine = reference.machine
    return " ".join(part for part in (machine.make, machine.model, machine.years) if part)


def to_engine(survey: SurveyIn) -> Survey:
    """Return the survey as the engine takes it; what was not stated for a point is NaN."""
    points = survey.points
    return Survey(
        feature=tuple(point.feature for point in points),
        label=tuple(point.label for point in points),
        station=tuple(point.station for point in points),
        turn=tuple(point.turn for point in points),
        xyz=np.array([(point.x, point.y, point.z) for point in points], dtype=np.float64),
        u=np.array([nan if point.u is None else point.u for point in points]),
        offset=np.array([nan if point.offset is None else point.offset for point in points]),
        cov={index: _matrix(point) for index, point in enumerate(points) if point.cov},
        up=survey.up,
        instrument=_instrument(survey.instrument),
        target_spacing=survey.rig.target_spacing_mm,
        part_temperature_c=survey.part_temperature_c,
        part_temperature_u_k=survey.part_temperature_u_k,
        after_ride_in=survey.after_ride_in,
        chain_adjusters=_stated(survey.chain_adjusters),
        fork_runout_mm=_stated(survey.fork_runout_mm),
    )


def _stated(sent: SidesIn | RimWidthIn | None) -> dict[str, float]:
    """What was stated of two sides or two wheels, by their names."""
    return {} if sent is None else sent.model_dump(exclude_none=True)


def _matrix(point: PointIn) -> np.ndarray:
    xx, xy, xz, yy, yz, zz = point.cov or (0.0,) * 6
    return np.array([[xx, xy, xz], [xy, yy, yz], [xz, yz, zz]])


def _instrument(sent: InstrumentIn) -> Instrument:
    return Instrument(
        standard_uncertainty_mm=sent.standard_uncertainty_mm,
        offset_u_mm=sent.offset_u_mm,
        scale_u_ppm=sent.scale_u_ppm,
        probe_radius_mm=sent.probe_radius_mm,
        scale_temperature_c=sent.scale_temperature_c,
        scale_expansion_per_k=sent.scale_expansion_per_k,
        repeatability_mm=sent.repeatability_mm,
        repeatability_degrees_of_freedom=sent.repeatability_degrees_of_freedom,
    )


def reference_to_engine(sent: ReferenceIn | None) -> Reference:
    if sent is None:
        return Reference()
    return Reference(
        characteristics={key: _tolerance(line) for key, line in sent.characteristics.items()},
        levelling=sent.levelling,
        control_points=sent.control_points,
        control_weights=sent.control_weights,
        materials=dict(sent.materials.items()),
        expansion_per_k=dict(sent.expansion_per_k.items()),
        face_squareness_deg=sent.face_squareness_deg,
        head_length_mm=sent.head_length_mm,
        handling=NO_HANDLING if sent.handling is None else Handling(**sent.handling.model_dump()),
        rim_width_mm=_stated(sent.rim_width_mm),
        wheel_runout_u_mm=(
            WHEEL_RUNOUT_U_MM if sent.wheel_runout_u_mm is None else sent.wheel_runout_u_mm
        ),
    )


def _tolerance(line: ToleranceIn) -> Tolerance:
    return Tolerance(line.nominal, line.lower, line.upper, line.required)


def in_words(result: Result, called: str) -> ResultOut:
    """Return the engine's result as `jigbook.result/1`, with its sentences."""
    told: ResultOut = {
        "format": "jigbook.result/1",
        "engine_version": result.engine_version,
        "levelling": result.levelling,
        "levelled_by": list(result.levelled_by),
        "threshold": result.threshold,
        "finding": _finding(result, called),
        "rig_check": _rig_check(result),
        "noise_check": _noise_check(result),
        "orientation": result.orientation,
        "characteristics": [characteristic_in_words(one) for one in result.characteristics],
        "covariance": {
            "keys": list(result.covariance_keys),
            "matrix": result.covariance.tolist(),
        },
        "handling": {
            one.name: handling.figure(one.name, one.value, one.standard_uncertainty)
            for one in result.handling
        },
        "fork_bend_mm": dict(result.fork_bend_mm),
        "warnings": _warnings(result),
        "outline": _outline(result.outline),
        "shared": {
            "causes": list(result.shared.causes),
            "derivatives": result.shared.derivatives.tolist(),
        },
    }
    if result.monte_carlo is not None:
        told["monte_carlo"] = _monte_carlo(result.monte_carlo)
    return told


def _monte_carlo(made: MonteCarlo) -> MonteCarloOut:
    differing = [one.key for one in made.characteristics if not one.first_order_validated]
    return {
        "trials": made.trials,
        "seed": made.seed,
        "digits": made.digits,
        "stable": made.stable,
        "needed": made.needed,
        "characteristics": [_distribution(one) for one in made.characteristics],
        "sentence": monte_carlo.sentence(
            made.trials, made.seed, made.stable, differing, needed=made.needed
        ),
    }


def _distribution(one: Distribution) -> DistributionOut:
    return {
        "key": one.key,
        "mean": one.mean,
        "standard_uncertainty": one.standard_uncertainty,
        "low": one.low,
        "high": one.high,
        "digits": one.digits,
        "first_order_low": one.first_order_low,
        "first_order_high": one.first_order_high,
        "tolerance": one.tolerance,
        "first_order_validated": one.first_order_validated,
        "unsolved": one.unsolved,
    }


def _finding(result: Result, called: str) -> FindingOut:
    finding = result.finding
    limited = [one for one in result.characteristics if one.verdict != "no_tolerance"]
    tally = verdicts.Tally(
        reference=called,
        within=tuple(one.key for one in limited if one.verdict == "within"),
        outside=tuple(one.key for one in limited if one.verdict == "outside"),
        undecided=tuple(one.key for one in limited if one.verdict == "undecided"),
        missing=finding.missing,
        probability_all=finding.probability_all,
        threshold=result.threshold,
        moved=result.rig_check.verdict == "moved",
    )
    return {
        "verdict": finding.verdict,
        "probability_all": finding.probability_all,
        "required": finding.required,
        "missing": list(finding.missing),
        "sentence": verdicts.finding_sentence(finding.verdict, tally),
    }


def _rig_check(result: Result) -> RigCheckOut:
    check = result.rig_check
    return {
        "verdict": check.verdict,
        "scope": check.scope,
        "statistic": check.statistic,
        "limit": check.limit,
        "degrees_of_freedom": check.degrees_of_freedom,
        "detectable_slip_mm": check.detectable_slip_mm,
        "sentence": checks.rig(check.verdict, check.scope, check.detectable_slip_mm),
    }


def _noise_check(result: Result) -> NoiseCheckOut:
    check = result.noise_check
    return {
        "verdict": check.verdict,
        "statistic": check.statistic,
        "limit": check.limit,
        "degrees_of_freedom": check.degrees_of_freedom,
        "sentence": checks.noise(check.verdict),
    }


def characteristic_in_words(one: Characteristic) -> CharacteristicOut:
    """Return one characteristic with its name and sense in words."""
    return {
        "key": one.key,
        "name": name_of(one.key),
        "unit": one.unit,
        "value": one.value,
        "standard_uncertainty": one.standard_uncertainty,
        "degrees_of_freedom": one.degrees_of_freedom,
        "expanded_uncertainty": one.expanded_uncertainty,
        "coverage_factor": one.coverage_factor,
        "nominal": one.nominal,
        "deviation": one.deviation,
        "lower": one.lower,
        "upper": one.upper,
        "required": one.required,
        "probability_within": one.probability_within,
        "probability_above": one.probability_above,
        "probability_below": one.probability_below,
        "verdict": one.verdict,
        "side": one.side,
        "cannot_decide": one.cannot_decide,
        "set_by_levelling": one.set_by_levelling,
        "sense_code": one.sense_code,
        "sense": _sense(one),
        "value_sense": _value_sense(one),
        "budget": [_share(part) for part in one.budget],
    }


def _share(part: Share) -> ShareOut:
    return {
        "source": part.source,
        "share": part.share,
        "reduce": sources.reduce(part.source),
    }


def _sense(one: Characteristic) -> str:
    if one.set_by_levelling:
        return senses.set_by_levelling()
    number = one.value if one.deviation is None else one.deviation
    decimals = places(one.expanded_uncertainty)
    return senses.sentence(one.sense_code, number, one.unit, decimals, one.nominal)


def _value_sense(one: Characteristic) -> str:
    code = sense_code(one.key, one.value, None)
    return senses.sentence(code, one.value, one.unit, places(one.expanded_uncertainty), None)


def _warnings(result: Result) -> list[WarningOut]:
    return [
        {
            "code": caveat.code,
            "message": warnings.message(caveat.code, caveat.feature, dict(caveat.facts)),
            "feature": caveat.feature,
        }
        for caveat in result.warnings
    ]


def _outline(outline: Outline) -> OutlineOut:
    return {
        "measured": [_element(one) for one in outline.measured],
        "reference": [_element(one) for one in outline.reference],
        "levelled": outline.levelled,
    }


def _element(one: OutlineElement) -> OutlineElementOut:
    return {
        "name": one.name,
        "kind": one.kind,
        "points": [list(point) for point in one.points],
        "radius": one.radius,
    }
