"""What the invented shop has on record of its measuring arm; every reading is made up."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np

LENGTH_MM = 600.0
READINGS = 14
NOTICED = 11
"""Which reading is out of control."""
EVERY_DAYS = 2
WHY_OUT = (
    "the bar had lain in the sun beside the window; measured again after an hour, and in control "
    "(invented)"
)
PEOPLE = ("Tove", "Ines", "Olof")


def bar(today: date) -> dict[str, Any]:
    """A check bar that was calibrated last year and is good for five."""
    calibrated = today - timedelta(days=300)
    return {
        "name": "check bar 1 (invented)",
        "serial_number": "INV-B1",
        "length_mm": LENGTH_MM,
        "length_u_mm": 0.003,
        "expansion_per_k": 11.7e-6,
        "calibrated": calibrated.isoformat(),
        "due": (calibrated + timedelta(days=1825)).isoformat(),
        "laboratory": "Invented Calibration Laboratory",
        "note": "invented for the demonstration",
    }


def readings(check_bar_id: int, last: datetime) -> Iterator[tuple[datetime, dict[str, Any]]]:
    """Moments and readings of the mornings up to `last`; one of them in the sun."""
    rng = np.random.default_rng(41)
    for place in range(READINGS):
        moment = last - timedelta(days=EVERY_DAYS * (READINGS - 1 - place))
        temperature = round(float(rng.normal(20.5, 1.0)), 1)
        grown = LENGTH_MM * (1.0 + 11.7e-6 * (temperature - 20.0))
        shift = 0.25 if place == NOTICED else 0.01
        read = grown + shift + rng.normal(0.0, 0.03, 3)
        yield (
            moment,
            {
                "check_bar_id": check_bar_id,
                "measured_at": moment.isoformat(),
                "temperature_c": temperature,
                "temperature_u_k": 0.5,
                "readings_mm": [round(float(one), 3) for one in read],
                "note": "invented for the demonstration",
            },
        )


def gauge_study(instrument: str, measured_at: datetime) -> dict[str, Any]:
    """Three people measure the spacing of two holes on ten brackets three times each."""
    rng = np.random.default_rng(42)
    part = rng.normal(0.0, 0.6, 10)
    person = rng.normal(0.0, 0.05, 3)
    return {
        "format": "jigbook.gauge_study/1",
        "instrument": instrument,
        "quantity": "spacing of two holes on ten brackets (invented)",
        "measured_at": measured_at.isoformat(),
        "note": "invented for the demonstration",
        "tolerance_width": 4.0,
        "readings": [
            {
                "part": f"bracket {i + 1}",
                "person": name,
                "trial": trial,
                "value": round(float(180.0 + part[i] + person[j] + rng.normal(0.0, 0.12)), 2),
            }
            for trial in (1, 2, 3)
            for j, name in enumerate(PEOPLE)
            for i in rng.permutation(10)
        ],
    }


def turned_steering(document: dict[str, Any]) -> dict[str, Any]:
    """A survey's steering targets alone: some stations of them were turned to the left."""
    points = [point for point in document["points"] if point["feature"] == "steer_target"]
    return {**document, "points": points}
