"""The check bar: its deviation and uncertainty, by what it is judged, what it notices."""

import math

import numpy as np
import pytest

from app.metrology.check_bar import (
    FEWEST,
    MOST,
    Bar,
    Claim,
    Deviation,
    deviation,
    limits,
    signals,
)

BAR = Bar(500.0, 0.002, 11.7e-6, 1e-6)
CLAIM = Claim(0.05, 20.0)


def judged(values: list[float], u: float | None = 0.05) -> list[tuple[str, ...]]:
    """Each value by those sound ones before it."""
    sound: list[float] = []
    told = []
    for value in values:
        found = signals(Deviation(value, u), limits(sound, value))
        told.append(found)
        if not found:
            sound.append(value)
    return told


def test_a_warm_bar_is_brought_to_20_degrees() -> None:
    read = 500.0 * (1.0 + 11.7e-6 * 12.0)
    found = deviation(BAR, CLAIM, [read], 32.0, 0.5)
    assert found.value == pytest.approx(0.0, abs=1e-9)
    assert deviation(BAR, CLAIM, [read], 20.0, 0.5).value == pytest.approx(0.0702, abs=1e-9)


def test_the_uncertainty_is_put_together_from_all_that_is_claimed() -> None:
    """By hand: bar, scale 20 ppm of 500 mm, 11.7e-6 of 0.5 K, 12 K of 1e-6, √2 of u over √4."""
    read = [500.0 * (1.0 + 11.7e-6 * 12.0)] * 4
    found = deviation(BAR, CLAIM, read, 32.0, 0.5)
    expected = math.sqrt(
        0.002**2
        + (20e-6 * 500.0) ** 2
        + (11.7e-6 * 0.5 * 500.0) ** 2
        + (1e-6 * 12.0 * 500.0) ** 2
        + 0.05**2 * 2.0 / 4.0
    )
    assert found.standard_uncertainty == pytest.approx(expected, rel=1e-3)


def test_without_a_claim_the_readings_own_scatter_stands_and_one_reading_says_nothing() -> None:
    unknown = Claim(None)
    found = deviation(BAR, unknown, [500.0, 500.2], 20.0, 1e-9)
    assert found.standard_uncertainty == pytest.approx(math.hypot(0.002, 0.1), rel=1e-3)
    assert deviation(BAR, unknown, [500.0], 20.0, 1.0).standard_uncertainty is None
    assert signals(Deviation(99.0, None), None) == ()


def test_a_warm_scale_grows_with_the_bar() -> None:
    claim = Claim(0.05, 0.0, 32.0, 11.7e-6)
    assert deviation(BAR, claim, [500.0], 32.0, 0.5).value == pytest.approx(0.0, abs=1e-9)


def test_a_bias_is_seen_from_the_first_reading_on() -> None:
    assert judged([0.14]) == [()]
    assert judged([0.16]) == [("bias",)]
    assert judged([-0.16]) == [("bias",)]


def test_there_is_no_chart_before_there_are_enough_sound_readings() -> None:
    few = [0.01, -0.01] * 4
    assert limits(few[: FEWEST - 1], 9.0) is None
    chart = limits(few[:FEWEST], 9.0)
    assert chart is not None
    assert chart.previous == -0.01


def test_readings_that_do_not_scatter_scatter_within_their_last_digit() -> None:
    same = [0.02] * 20
    within, beyond = limits(same, 0.03), limits(same, 5.02)
    assert within is not None
    assert beyond is not None
    assert within.lower < 0.01 < 0.03 < within.upper < 0.05
    assert "above_limit" in signals(Deviation(5.02, None), beyond)
    assert signals(Deviation(0.03, None), within) == ()


def test_a_jump_is_out_of_control_and_enters_no_later_limit() -> None:
    steady = np.random.default_rng(2).normal(0.0, 0.005, 20).tolist()
    told = judged([*steady, 0.05, *steady[:5]])
    assert told[20] == ("above_limit", "range", "average")
    assert told[21:] == [()] * 5
    assert judged([*steady, -0.05])[20] == ("below_limit", "range", "average")


def test_a_slow_drift_is_seen_by_the_moving_average() -> None:
    steady = np.random.default_rng(2).normal(0.0, 0.005, MOST).tolist()
    assert judged(steady) == [()] * MOST
    drift = [0.0012 * step for step in range(1, 12)]
    told = judged([*steady, *drift])
    first = next(found for found in told[MOST:] if found)
    assert first == ("average",)


def test_what_is_said_of_a_reading_never_depends_on_later_ones() -> None:
    values = np.random.default_rng(3).normal(0.0, 0.01, 40).tolist()
    whole = judged([*values, 1.0, -1.0])
    for count in (5, 20, 33):
        assert judged(values[:count]) == whole[:count]


def test_a_sound_instrument_is_rarely_called_out_of_control() -> None:
    """150 logs of 40 readings: under 1 % a reading in spite of limits from few of them."""
    rng = np.random.default_rng(20261125)
    told = [one for _ in range(150) for one in judged(rng.normal(0.0, 0.01, 40).tolist(), None)]
    alarms = [found for found in told if found]
    beyond = [found for found in alarms if {"above_limit", "below_limit"} & set(found)]
    readings = 150 * (40 - FEWEST)
    assert 0.001 < len(beyond) / readings < 0.005
    assert len(alarms) / readings < 0.01


def test_a_bar_needs_a_reading() -> None:
    with pytest.raises(ValueError, match="no reading"):
        deviation(BAR, CLAIM, [], 20.0, 1.0)
