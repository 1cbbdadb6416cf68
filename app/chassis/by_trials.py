"""Uncertainties, probabilities and verdicts from trials instead of first order."""

import math
from collections.abc import Container, Mapping, Sequence

import numpy as np

from app.chassis.characteristics import Found
from app.chassis.derivatives import Inputs
from app.chassis.result import Characteristic, Distribution, MonteCarlo
from app.chassis.set_up import SetUp
from app.chassis.survey import Options, Reference
from app.chassis.trials.head import Trials, trials_of
from app.chassis.trials.run import Asked, Limits, Outcome, Told, run
from app.metrology import conformity
from app.metrology.conformity import Probabilities
from app.metrology.monte_carlo import validation

TRIALS_UNASKED = 20_000
SEED_UNASKED = 20_260_302
UNSOLVED_MOST = 1e-3
"""Share of trials without a solution from which trials do not suffice either."""
DIGITS_TO_VALIDATE = 1
SPREAD_FROM = 2.0
"""Degrees of freedom up to which Student's distribution has no standard deviation."""


def outcome(
    set_up: SetUp,
    found: Found,
    reference: Reference,
    judged: Sequence[Characteristic],
    options: Options,
) -> Outcome:
    """Trials of all characteristics that levelling does not set."""
    limits = {item.key: limits for item in judged if (limits := _limits(item)) is not None}
    asked = Asked(
        {item.key: item.value for item in judged if not item.set_by_levelling},
        limits,
        [item.key for item in judged if item.required and not item.set_by_levelling],
        options.monte_carlo or TRIALS_UNASKED,
        SEED_UNASKED if options.seed is None else options.seed,
        options.digits,
    )
    # A trial without an answer has NaN and is counted; NumPy need not say so as well.
    with np.errstate(invalid="ignore", divide="ignore"):
        return run(trials_of_survey(set_up, found), reference, asked)


def trials_of_survey(set_up: SetUp, found: Found) -> Trials:
    """What the trials of an evaluated survey are drawn and solved from."""
    noisier = set_up.noise.birge_ratio > 1.0
    inputs = Inputs(
        set_up.prepared, set_up.stack, set_up.fitted, set_up.pivot, set_up.steering, noisier
    )
    return trials_of(inputs, found.degrees_of_freedom)


def _limits(item: Characteristic) -> Limits | None:
    if item.nominal is None or (item.lower is None and item.upper is None):
        return None
    return Limits(
        -math.inf if item.lower is None else item.nominal + item.lower,
        math.inf if item.upper is None else item.nominal + item.upper,
    )


def suffices(made: Outcome) -> bool:
    """Whether nearly all trials have a solution."""
    worst = max([told.unsolved for told in made.told.values()], default=0)
    return worst <= UNSOLVED_MOST * made.trials


def judged_by(
    items: Sequence[Characteristic],
    made: Outcome,
    threshold: float,
    undecidable: Container[str],
) -> tuple[Characteristic, ...]:
    """The characteristics with what the trials tell of them; undecidable: as in `judging`."""
    return tuple(
        item
        if (told := made.told.get(item.key)) is None or told.summary is None
        else _judged(item, told, threshold, item.key in undecidable)
        for item in items
    )


def _judged(
    item: Characteristic, told: Told, threshold: float, undecidable: bool
) -> Characteristic:
    """U is that for which value ± U holds 95 % of the trials."""
    assert told.summary is not None
    u = told.summary.u
    expanded = told.half_width
    item = item._replace(
        standard_uncertainty=u,
        degrees_of_freedom=None,
        expanded_uncertainty=expanded,
        coverage_factor=expanded / u if u else item.coverage_factor,
    )
    if item.probability_within is None:
        return item
    verdict = conformity.verdict(Probabilities(told.within, told.above, told.below), threshold)
    return item._replace(
        probability_within=told.within,
        probability_above=told.above,
        probability_below=told.below,
        verdict="undecided" if undecidable else verdict.code,
        side=None if undecidable else verdict.side,
        cannot_decide=conformity.cannot_decide(expanded, item.lower, item.upper),
    )


def block_of(
    made: Outcome, first_order: Sequence[Characteristic], options: Options, needed: bool
) -> MonteCarlo:
    """What the result says of the trials; first_order: the characteristics without them."""
    known = {item.key: item for item in first_order}
    return MonteCarlo(
        made.trials,
        SEED_UNASKED if options.seed is None else options.seed,
        options.digits,
        made.stable,
        needed,
        tuple(_distributions(made.told, known)),
    )


def _distributions(
    told: Mapping[str, Told], known: Mapping[str, Characteristic]
) -> list[Distribution]:
    found = []
    for key, one in told.items():
        if one.summary is None:
            continue
        item = known[key]
        low, high = (
            item.value - item.expanded_uncertainty,
            item.value + item.expanded_uncertainty,
        )
        # First order leaves as much below its interval as above. Where the shortest interval lies
        # is left to chance much more.
        ends = one.summary._replace(low=one.symmetric[0], high=one.symmetric[1])
        check = validation(low, high, ends, DIGITS_TO_VALIDATE)
        freedom = item.degrees_of_freedom
        found.append(
            Distribution(
                key,
                one.summary.mean,
                None if freedom is not None and freedom <= SPREAD_FROM else one.summary.u,
                one.summary.low,
                one.summary.high,
                one.digits,
                low,
                high,
                check.tolerance,
                check.passed,
                one.unsolved,
            )
        )
    return found
