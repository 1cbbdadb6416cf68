"""A bar of known length, measured again and again: does the instrument still read right?

Each reading is judged when it is made, by those before it and by the bar's own length. It never
changes what was said of an earlier one, and once found out of control it enters no later limit.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

from scipy.special import ndtr, stdtrit

from app.metrology.control_charts import WIDTH, ewma, individuals, range_freedom
from app.metrology.range_constants import range_constants
from app.metrology.thermal import to_reference_temperature

FEWEST = 8
"""Sound readings that a chart needs before it judges; a choice of our own."""
MOST = 20
"""The first so many make the limits; later ones are judged by them."""
WEIGHT = 0.3
"""Of the newest value in the moving average (NIST/SEMATECH e-Handbook, 6.3.2.4: 0.2 to 0.3)."""
BIAS_LIMIT = 3.0
"""Deviation from the bar's length, in standard uncertainties, that is taken for chance."""

MOST_DECIMALS, SAME = 6, 1e-9

ABOVE, BELOW, RANGE, AVERAGE, BIAS = "above_limit", "below_limit", "range", "average", "bias"
SIGNALS = (ABOVE, BELOW, RANGE, AVERAGE, BIAS)


class Bar(NamedTuple):
    """The bar as calibrated: its length at 20 °C, and how it grows."""

    length_mm: float
    u_mm: float
    expansion_per_k: float
    expansion_u_per_k: float


class Claim(NamedTuple):
    """What the instrument's calibration claims of a length: None where it says nothing."""

    standard_uncertainty_mm: float | None
    """Of each coordinate of a point."""
    scale_u_ppm: float = 0.0
    scale_temperature_c: float | None = None
    scale_expansion_per_k: float = 0.0


class Deviation(NamedTuple):
    """Measured minus calibrated length at 20 °C, mm."""

    value: float
    standard_uncertainty: float | None
    """None: neither calibration nor readings tell it."""


class Limits(NamedTuple):
    """By which a reading is judged."""

    centre: float
    lower: float
    upper: float
    previous: float
    """The last sound value before it."""
    upper_range: float
    average: float
    """The moving average with this reading in it."""
    average_lower: float
    average_upper: float


def deviation(
    bar: Bar, claim: Claim, readings: Sequence[float], temperature_c: float, temperature_u_k: float
) -> Deviation:
    """Deviation of the mean of some readings (mm) from the bar's length, with its uncertainty.

    Each reading is the distance of two points. In the uncertainty: the bar's calibration, its
    temperature and coefficient, the instrument's scale, and √2 of its uncertainty of a coordinate
    over the root of the number of readings; where no calibration states that, the readings' own
    scatter. Formula: JCGM 100:2008, 5.1.2. Raises ValueError without a reading.
    """
    if not readings:
        raise ValueError("no reading")
    scale = 20.0 if claim.scale_temperature_c is None else claim.scale_temperature_c
    grown = to_reference_temperature(
        temperature_c,
        temperature_u_k,
        bar.expansion_per_k,
        bar.expansion_u_per_k,
        scale,
        claim.scale_expansion_per_k,
    )
    measured = grown.factor * sum(readings) / len(readings)
    of_readings = _u_of_mean(claim, readings)
    if of_readings is None:
        return Deviation(measured - bar.length_mm, None)
    u = math.hypot(
        bar.u_mm,
        measured * grown.u_temperature,
        measured * grown.u_coefficient,
        measured * claim.scale_u_ppm * 1e-6,
        of_readings,
    )
    return Deviation(measured - bar.length_mm, u)


def _u_of_mean(claim: Claim, readings: Sequence[float]) -> float | None:
    count = len(readings)
    if claim.standard_uncertainty_mm is not None:
        return math.sqrt(2.0 / count) * claim.standard_uncertainty_mm
    if count < 2:
        return None
    mean = sum(readings) / count
    return math.sqrt(sum((one - mean) ** 2 for one in readings) / (count - 1) / count)


def limits(sound: Sequence[float], value: float) -> Limits | None:
    """By what a value is judged: `sound` are those before it, in order of time, all in control.

    None where these are too few. A chart's limits stand three standard
    deviations from its centre, so that chance leaves them once in 370 times. While only few
    readings tell centre and deviation, Student's factor of that probability stands in the place
    of three, and the centre's own uncertainty is added; without that, chance leaves the limits of
    eight readings three times as often and more. Readings that do not scatter at all scatter within
    their last digit.
    """
    if len(sound) < FEWEST:
        return None
    base = sound[:MOST]
    chart = individuals(base)
    deviation, upper_range = chart.deviation, chart.upper_range
    if deviation == 0.0:
        deviation = last_digit(base) / math.sqrt(12.0)
        pair = range_constants(2)
        upper_range = pair.highest * pair.d2 * deviation
    wider = float(stdtrit(range_freedom(len(base)), float(ndtr(WIDTH)))) / WIDTH
    away = wider * WIDTH * deviation
    run = ewma([*sound, value], WEIGHT, chart.centre, wider * deviation, WIDTH)
    of_centre = away / math.sqrt(len(base))
    about = math.hypot(float(run.upper[-1]) - chart.centre, of_centre)
    reach = math.hypot(away, of_centre)
    return Limits(
        chart.centre,
        chart.centre - reach,
        chart.centre + reach,
        sound[-1],
        wider * upper_range,
        float(run.averages[-1]),
        chart.centre - about,
        chart.centre + about,
    )


def last_digit(values: Sequence[float]) -> float:
    """What one step of the last decimal is worth in which all values are told, to the sixth."""
    for decimals in range(MOST_DECIMALS):
        if all(abs(round(value, decimals) - value) < SAME for value in values):
            return float(10.0**-decimals)
    return float(10.0**-MOST_DECIMALS)


def signals(found: Deviation, by: Limits | None) -> tuple[str, ...]:
    """What speaks against a reading, by the codes of `SIGNALS`; empty when it is in control.

    Rules: a value beyond the limits of the chart of individuals, a moving range beyond its limit,
    a moving average beyond its limits (NIST/SEMATECH e-Handbook, 6.3.2.2 and 6.3.2.4), and a
    deviation from the bar's length of more than three standard uncertainties.
    """
    met = [] if by is None else _on_chart(found.value, by)
    u = found.standard_uncertainty
    if u is not None and abs(found.value) > BIAS_LIMIT * u:
        met.append(BIAS)
    return tuple(met)


def _on_chart(value: float, by: Limits) -> list[str]:
    beyond = {
        ABOVE: value > by.upper,
        BELOW: value < by.lower,
        RANGE: abs(value - by.previous) > by.upper_range,
        AVERAGE: not by.average_lower <= by.average <= by.average_upper,
    }
    return [code for code, met in beyond.items() if met]
