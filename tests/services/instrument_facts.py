"""An invented check bar, readings of it, a gauge study and a turned steering, for tests."""

import json
from collections.abc import Sequence
from typing import Any

import numpy as np

from app.schemas.check_bar import BarReadingIn, CheckBarIn
from app.services import check_bars, instruments
from app.services.check_bars import BarReadingView
from tests.services.documents import ARM, calibration
from tests.services.workshop import Workshop

STEADY = (0.004, -0.003, 0.001, 0.005, -0.004, 0.0, 0.003, -0.002, 0.002, -0.001)
"""Deviations of a sound instrument, mm."""


def bar(**changes: Any) -> CheckBarIn:
    return CheckBarIn.model_validate(
        {
            "name": "bar 1 (invented)",
            "length_mm": 500.0,
            "length_u_mm": 0.002,
            "expansion_per_k": 11.7e-6,
            "calibrated": "2026-01-15",
            "due": "2028-01-15",
            **changes,
        }
    )


def reading(bar_id: int, deviation: float, **changes: Any) -> BarReadingIn:
    """Two readings at 20 °C whose mean deviates so far."""
    return BarReadingIn.model_validate(
        {
            "check_bar_id": bar_id,
            "measured_at": "2026-03-02T07:30:00+01:00",
            "temperature_c": 20.0,
            "temperature_u_k": 0.5,
            "readings_mm": [500.01 + deviation, 499.99 + deviation],
            **changes,
        }
    )


def with_bar(workshop: Workshop) -> tuple[int, int]:
    """Ids of an instrument in calibration and of a bar."""
    arm = workshop.do(instruments.create, "inspector", ARM, calibration=calibration())
    return arm.id, workshop.do(check_bars.add_bar, "inspector", bar()).id


def measured(
    workshop: Workshop, instrument_id: int, bar_id: int, deviations: Sequence[float]
) -> list[BarReadingView]:
    return [
        workshop.do(check_bars.record_reading, "technician", instrument_id, reading(bar_id, one))
        for one in deviations
    ]


def gauge_study(**changes: Any) -> dict[str, Any]:
    """Three people, five parts, two trials."""
    rng = np.random.default_rng(3)
    part = rng.normal(0.0, 1.0, 5)
    readings = [
        {
            "part": f"p{i + 1}",
            "person": person,
            "trial": trial,
            "value": round(100.0 + part[i] + shift + rng.normal(0.0, 0.1), 3),
        }
        for person, shift in (("A", 0.0), ("B", 0.1), ("C", -0.1))
        for trial in (1, 2)
        for i in range(5)
    ]
    return {"format": "jigbook.gauge_study/1", "readings": readings, **changes}


def turned_steering(mirrored: bool = False, **changes: Any) -> dict[str, Any]:
    """Two targets at four stations, two of them to the left; nothing else."""
    points = []
    for label, radius, height, phase in (
        ("upper", 150.0, 700.0, 0.2),
        ("lower", 180.0, 520.0, 1.4),
    ):
        for station, degrees in (("s1", -25.0), ("s2", 0.0), ("s3", 20.0), ("s4", 35.0)):
            angle = phase + np.radians(degrees)
            x = 300.0 + radius * np.cos(angle) - 0.4 * height
            y = radius * np.sin(angle) * (-1.0 if mirrored else 1.0)
            point = {"feature": "steer_target", "label": label, "station": station}
            place = {"x": float(x), "y": float(y), "z": height, "u": 0.1}
            turn = {"turn": "left"} if degrees > 10.0 else {}
            points.append({**point, **place, **turn})
    return {"format": "jigbook.survey/1", "up": [0.0, 0.0, 1.0], "points": points, **changes}


def text(document: object) -> str:
    return json.dumps(document)
