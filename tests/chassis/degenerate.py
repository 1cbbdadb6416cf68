"""Surveys that can hardly decide: what an honest answer to them is."""

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from app.chassis.survey import Options
from app.demonstration.elements import Head
from app.demonstration.fork_truth import fork_values
from app.demonstration.machine import Fork
from app.demonstration.machine_survey import Measured
from app.demonstration.machine_truth import Terms, true_values
from app.errors import Refusal
from tests.simulation.ideal import reference_of

FARTHEST_OFF = 6.0
"""Standard uncertainties by which no value may miss the truth: by chance once in 500 million."""
FIRST_ORDER = Options(monte_carlo=0)
"""Trials are tested elsewhere, and where first order does not suffice they take seconds."""


def honest(made: Measured, terms: Terms, allowed: frozenset[str]) -> Result | None:
    """The result, whose uncertainties cover the truth; None where it was refused as allowed."""
    try:
        result = evaluate(made.survey, reference_of(terms), FIRST_ORDER)
    except Refusal as refusal:
        if refusal.code not in allowed:
            raise
        return None
    true = _true(made, terms)
    for item in result.characteristics:
        if item.key in true and not item.set_by_levelling:
            # The wider of 6 u and three times the interval, which knows of few degrees of freedom.
            reach = max(FARTHEST_OFF * item.standard_uncertainty, 3.0 * item.expanded_uncertainty)
            assert abs(item.value - true[item.key]) <= reach, item.key
    return result


def _true(made: Measured, terms: Terms) -> dict[str, float]:
    true = true_values(made.machine, terms)
    fork = made.machine.fork or Fork()
    return true | dict(fork_values(fork, Head.of(made.machine.head), made.session.legs))


def u_of(result: Result, key: str) -> float:
    (found,) = [x.standard_uncertainty for x in result.characteristics if x.key == key]
    return found
