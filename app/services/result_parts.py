"""The parts of a result with their names and sentences, as `jigbook.result/1` has them."""

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
from app.schemas.result import (
    CharacteristicOut,
    DistributionOut,
    FindingOut,
    MonteCarloOut,
    NoiseCheckOut,
    OutlineElementOut,
    OutlineOut,
    RigCheckOut,
    ShareOut,
    WarningOut,
)
from app.wording import checks, monte_carlo, senses, sources, verdicts, warnings
from app.wording.labels import characteristic as name_of
from app.wording.numbers import places


def monte_carlo_in_words(made: MonteCarlo) -> MonteCarloOut:
    """Return the trials, with what they say of first order."""
    off = [one for one in made.characteristics if not one.first_order_validated]
    # Ends that do not stand still to one digit cannot contradict anything.
    differing = [one.key for one in off if one.digits]
    return {
        "trials": made.trials,
        "seed": made.seed,
        "digits": made.digits,
        "stable": made.stable,
        "needed": made.needed,
        "characteristics": [_distribution(one) for one in made.characteristics],
        "sentence": monte_carlo.sentence(
            made.trials,
            made.seed,
            made.stable,
            differing,
            needed=made.needed,
            too_few=len(differing) < len(off),
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


def finding_in_words(result: Result, called: str) -> FindingOut:
    """Return the overall finding; `called`: what the reference is called in its sentence."""
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
        not_required=tuple(one.key for one in limited if not one.required),
    )
    return {
        "verdict": finding.verdict,
        "probability_all": finding.probability_all,
        "required": finding.required,
        "missing": list(finding.missing),
        "sentence": verdicts.finding_sentence(finding.verdict, tally),
    }


def rig_check_in_words(result: Result) -> RigCheckOut:
    """Return whether the set-up stood still."""
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


def noise_check_in_words(result: Result) -> NoiseCheckOut:
    """Return whether repeated points scatter as stated."""
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


def warnings_in_words(result: Result) -> list[WarningOut]:
    """Return the warnings with their sentences."""
    return [
        {
            "code": caveat.code,
            "message": warnings.message(caveat.code, caveat.feature, dict(caveat.facts)),
            "feature": caveat.feature,
        }
        for caveat in result.warnings
    ]


def outline_as_sent(outline: Outline) -> OutlineOut:
    """Return what drawings are made from, in mm."""
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
