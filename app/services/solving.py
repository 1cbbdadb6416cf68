"""From what was sent to what is answered: schemas in, engine, words out. No records, no clock."""

from math import nan

import numpy as np

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
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
from app.schemas.result import ResultOut
from app.schemas.survey import InstrumentIn, SidesIn, SurveyIn
from app.schemas.trials import UNASKED, TrialsAsked
from app.services.result_parts import (
    characteristic_in_words,
    finding_in_words,
    monte_carlo_in_words,
    noise_check_in_words,
    outline_as_sent,
    rig_check_in_words,
    warnings_in_words,
)
from app.wording import handling


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
        "finding": finding_in_words(result, called),
        "rig_check": rig_check_in_words(result),
        "noise_check": noise_check_in_words(result),
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
        "warnings": warnings_in_words(result),
        "outline": outline_as_sent(result.outline),
        "shared": {
            "causes": list(result.shared.causes),
            "derivatives": result.shared.derivatives.tolist(),
        },
    }
    if result.monte_carlo is not None:
        told["monte_carlo"] = monte_carlo_in_words(result.monte_carlo)
    return told
