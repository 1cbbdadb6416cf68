"""A simulated survey as a `jigbook.survey/1` document, lengths rounded to a micrometre."""

from typing import Any

import numpy as np

from app.chassis.survey import Floats, Instrument, Survey


def document(survey: Survey, **header: Any) -> dict[str, Any]:
    """header: further keys of the format, as they are to stand in it (`phase`, …)."""
    instrument = _known_of(survey.instrument) | header.pop("instrument", {})
    return {
        "format": "jigbook.survey/1",
        "part_temperature_c": survey.part_temperature_c,
        "up": [round(part, 6) for part in survey.up or (0.0, 0.0, 1.0)],
        **header,
        "instrument": instrument,
        "points": [_point(survey, row) for row in range(len(survey.feature))],
    }


def _known_of(instrument: Instrument) -> dict[str, Any]:
    return {
        "standard_uncertainty_mm": instrument.standard_uncertainty_mm,
        "offset_u_mm": instrument.offset_u_mm,
        "scale_u_ppm": instrument.scale_u_ppm,
        "probe_radius_mm": instrument.probe_radius_mm,
    }


def _point(survey: Survey, row: int) -> dict[str, Any]:
    named = {
        "feature": survey.feature[row],
        "label": survey.label[row],
        "station": survey.station[row],
        "turn": survey.turn[row],
    }
    found: dict[str, Any] = {key: value for key, value in named.items() if value is not None}
    found |= {axis: round(float(at), 3) for axis, at in zip("xyz", survey.xyz[row], strict=True)}
    if row in survey.cov:
        found["cov"] = _six(survey.cov[row])
    return found


def _six(covariance: Floats) -> list[float]:
    """xx, xy, xz, yy, yz, zz, mm²."""
    upper = covariance[np.triu_indices(3)]
    return [round(float(value), 9) for value in upper]
