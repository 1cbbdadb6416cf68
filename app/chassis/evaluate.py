"""The one door of the engine: a survey and a reference in, a result out."""

from typing import NamedTuple

import numpy as np

from app.chassis import (
    bore_check,
    caveats,
    judging,
    outline,
    plausibility,
    refusals,
    set_up,
    steering_check,
    units,
    verdicts,
)
from app.chassis.characteristics import Found, characteristics
from app.chassis.face_tilts import machine_fixed
from app.chassis.levelling import nominal_distance
from app.chassis.preparation import prepare
from app.chassis.result import (
    ENGINE_VERSION,
    Caveat,
    Characteristic,
    Figure,
    MonteCarlo,
    Result,
    Shared,
)
from app.chassis.set_up import SetUp
from app.chassis.survey import Options, Reference, Survey
from app.errors import Refusal

DEFAULT = Options()
NONE_TOLD = Shared((), np.zeros((0, 0)))
MAY_BE_UNITS = frozenset(
    {
        "coincident_points",
        "steering_hardly_turned",
        "axis_not_determined",
        "spacing_disagrees",
    }
)


def evaluate(survey: Survey, reference: Reference, options: Options = DEFAULT) -> Result:
    """Characteristics with their uncertainties, verdicts, and the checks behind them.

    Raises errors.Refusal with one of the codes of `refusals` where no honest answer can be given.
    """
    stands = _estimated(survey, reference)
    checked = stands.checked
    found = characteristics(checked, reference)
    plausibility.check_size(found, reference)
    orientation = plausibility.check_orientation(survey, reference, checked, found)
    covariance = found.contributions.covariance
    moved, threshold = checked.rig.verdict == "moved", options.threshold
    verdict = _judged(stands, found, reference, options)
    judged = verdict.characteristics
    if stands.contrary is not None:
        judged = judging.not_contradicted(
            judged, _judged_contrary(stands.contrary, reference, threshold)
        )
    finding = verdicts.finding(
        judged, covariance, reference.characteristics, threshold, moved, verdict.together
    )
    return Result(
        ENGINE_VERSION,
        found.rule,
        threshold,
        finding,
        checked.rig,
        checked.noise.check,
        orientation,
        judged,
        tuple([item.key for item in judged]),
        covariance,
        (
            *checked.prepared.warnings,
            *verdict.warnings,
            *found.warnings,
            *_on_checks(checked, orientation),
        ),
        outline.outline(reference, checked, found),
        machine_fixed(found.contributions.shared, checked) if options.shared else NONE_TOLD,
        _handling(found),
        _fork_bend(survey),
        _levelled_by(survey, reference, found),
        verdict.monte_carlo,
    )


def _handling(found: Found) -> tuple[Figure, ...]:
    if found.beyond is None:
        return ()
    figures, u = found.beyond.computed.handling, found.beyond.handling_u
    return tuple(Figure(name, float(one.value), u[name]) for name, one in figures.items())


def _fork_bend(survey: Survey) -> tuple[tuple[str, float], ...]:
    """Half the total indicator reading: the leg's middle goes round its own bend."""
    return tuple((side, reading / 2.0) for side, reading in survey.fork_runout_mm.items())


def _levelled_by(survey: Survey, reference: Reference, found: Found) -> tuple[str, ...]:
    if found.rule != "by_control":
        return ()
    places = zip(survey.feature, survey.label, strict=True)
    seen = {label for feature, label in places if feature == "control"}
    return tuple(name for name in reference.control_points if name in seen)


class _Judged(NamedTuple):
    """together: share of trials that are within at once; warnings: those of the estimate."""

    characteristics: tuple[Characteristic, ...]
    together: float | None
    monte_carlo: MonteCarlo | None
    warnings: list[Caveat]


def _judged(stands: "_Stands", found: Found, reference: Reference, options: Options) -> _Judged:
    """By first order; by trials where they are asked for, or first order does not suffice."""
    checked, threshold = stands.checked, options.threshold
    moved, needed = checked.rig.verdict == "moved", stands.first_order_only
    doubtful = checked.undecidable | judging.resting_on(found, checked.doubted)
    undecidable = judging.undecidable(found, doubtful, moved, needed)
    judged = judging.judged(found, reference, threshold, undecidable)
    asked = options.monte_carlo
    if not (needed if asked is None else asked):
        return _Judged(judged, None, None, stands.warnings)
    # Most evaluations make no trials, and start sooner without what they stand on.
    from app.chassis.by_trials import block_of, judged_by, outcome, suffices  # noqa: PLC0415

    made = outcome(checked, found, reference, judged, options)
    block = block_of(made, judged, options, needed and asked is None)
    warnings = stands.warnings
    if needed and suffices(made):
        undecidable = judging.undecidable(found, doubtful, moved, False)
        warnings = [one for one in warnings if one.code != "first_order_only"]
        warnings.append(caveats.by_trials(made.trials))
    judged = judged_by(judged, made, threshold, undecidable)
    return _Judged(judged, made.together, block, warnings)


class _Stands(NamedTuple):
    """The estimate that stands with its checks; the one that contradicts it, if one does; whether
    first order does not suffice."""

    checked: SetUp
    contrary: SetUp | None
    warnings: list[Caveat]
    first_order_only: bool


def _estimated(survey: Survey, reference: Reference) -> _Stands:
    """Raises Refusal; for its units where a survey in other units would explain it."""
    try:
        agreement = bore_check.check(prepare(survey, reference))
        checked = set_up.check(agreement.chosen)
        advice, first_order_only = _steering(checked)
    except Refusal as refusal:
        if refusal.code in MAY_BE_UNITS:
            units.check_roughly(survey, nominal_distance(reference.characteristics))
        raise
    contrary = None
    if agreement.other is not None:
        contrary = set_up.check(agreement.other)._replace(noise=checked.noise, rig=checked.rig)
    return _Stands(checked, contrary, agreement.warnings + advice, first_order_only)


def _steering(checked: SetUp) -> tuple[list[Caveat], bool]:
    """Raises Refusal; for points that disagree where their scatter made all else look bad."""
    try:
        return steering_check.check(checked.stack, checked.fitted, checked.prepared.bore_fixes)
    except Refusal:
        for caveat in checked.warnings:
            if caveat.code == "points_disagree":
                raise refusals.points_disagree(caveat) from None
        raise


def _judged_contrary(
    contrary: SetUp, reference: Reference, threshold: float
) -> tuple[Characteristic, ...]:
    found = characteristics(contrary, reference)
    moved = contrary.rig.verdict == "moved"
    # Of a face it says nothing: one that is not square to an axis in doubt may well be sound.
    undecidable = judging.undecidable(found, frozenset(), moved, False)
    return judging.judged(found, reference, threshold, undecidable)


def _on_checks(checked: SetUp, orientation: str) -> list[Caveat]:
    warnings = []
    if orientation == "not_checked":
        warnings.append(caveats.orientation_not_checked())
    check, ratio = checked.noise.check, checked.noise.birge_ratio
    if check.verdict == "noisier" and check.statistic is not None and check.limit is not None:
        warnings.append(caveats.noisier_than_claimed(ratio, check.statistic, check.limit))
    return warnings
