"""A check bar's log out of a file: judged reading by reading, as in the shop's records."""

from app.metrology import check_bar
from app.schemas.check_bar_log import (
    ChartOut,
    CheckBarLogIn,
    CheckBarResultOut,
    JudgedReadingOut,
    LoggedReadingIn,
)
from app.wording import instrument_records


def evaluated(log: CheckBarLogIn) -> CheckBarResultOut:
    """What each reading says of the instrument, judged by those before it alone."""
    sound: list[float] = []
    told: list[JudgedReadingOut] = []
    for one in log.readings:
        found = _deviation(log, one)
        by = check_bar.limits(sound, found.value)
        signals = check_bar.signals(found, by)
        told.append(_told(one, found, by, signals))
        if not signals:
            sound.append(found.value)
        if one.begin_anew:
            sound = []
    waiting = any(not one["in_control"] and not one["explained"] for one in told)
    return {
        "format": "jigbook.check_bar_result/1",
        "standing": "out_of_control" if waiting else "in_control" if told else "never_checked",
        "readings": told,
    }


def _deviation(log: CheckBarLogIn, one: LoggedReadingIn) -> check_bar.Deviation:
    bar, instrument = log.bar, log.instrument
    return check_bar.deviation(
        check_bar.Bar(bar.length_mm, bar.length_u_mm, bar.expansion_per_k, bar.expansion_u_per_k),
        check_bar.Claim(
            instrument.standard_uncertainty_mm,
            instrument.scale_u_ppm,
            instrument.scale_temperature_c,
            instrument.scale_expansion_per_k,
        ),
        one.readings_mm,
        one.temperature_c,
        one.temperature_u_k,
    )


def _told(
    one: LoggedReadingIn,
    found: check_bar.Deviation,
    by: check_bar.Limits | None,
    signals: tuple[str, ...],
) -> JudgedReadingOut:
    return {
        "measured_at": None if one.measured_at is None else one.measured_at.isoformat(),
        "deviation_mm": found.value,
        "deviation_u_mm": found.standard_uncertainty,
        "in_control": not signals,
        "signals": list(signals),
        "says": [
            instrument_records.deviation(found.value),
            *(instrument_records.signal(code) for code in signals),
        ],
        "chart": None if by is None else _chart(by, found.value),
        "explained": one.explanation is not None,
    }


def _chart(by: check_bar.Limits, value: float) -> ChartOut:
    return {
        "centre": by.centre,
        "lower": by.lower,
        "upper": by.upper,
        "moving_range": abs(value - by.previous),
        "upper_range": by.upper_range,
        "average": by.average,
        "average_lower": by.average_lower,
        "average_upper": by.average_upper,
    }
