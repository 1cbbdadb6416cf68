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
    waiting = sum(not one["in_control"] and not one["explained"] for one in told)
    return {
        "format": "jigbook.check_bar_result/1",
        "standing": standing(len(told), waiting),
        "readings": told,
    }


def standing(readings: int, waiting: int) -> str:
    """Where an instrument stands with so many readings, of which some wait to be explained."""
    if not readings:
        return "never_checked"
    return "out_of_control" if waiting else "in_control"


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
        "says": list(instrument_records.says(found.value, signals)),
        "chart": None if by is None else chart(by, found.value),
        "explained": one.explanation is not None,
    }


def chart(by: check_bar.Limits, value: float) -> ChartOut:
    """The chart by which a deviation was judged, mm."""
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
