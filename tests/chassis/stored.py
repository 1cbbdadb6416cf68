"""How surveys, references and results of the engine stand in the files of `tests/stored/`."""

import json
import math
from dataclasses import asdict
from typing import Any

import numpy as np

from app.chassis.result import Result
from app.chassis.survey import (
    NO_HANDLING,
    Handling,
    Instrument,
    Reference,
    Survey,
    Tolerance,
)

Stored = dict[str, Any]


def survey_of(stored: Stored) -> Survey:
    columns = list(zip(*stored["points"], strict=True))
    feature, label, station, turn = (tuple(column) for column in columns[:4])
    x, y, z, u, offset = (np.array(column, dtype=float) for column in columns[4:])
    return Survey(
        feature,
        label,
        station,
        turn,
        np.stack((x, y, z), axis=1),
        u,
        offset,
        cov={int(row): np.array(matrix) for row, matrix in stored.get("cov", {}).items()},
        up=tuple(stored["up"]),
        instrument=Instrument(**stored["instrument"]),
        target_spacing=tuple(tuple(row) for row in stored["target_spacing"]),
        part_temperature_c=stored["part_temperature_c"],
        part_temperature_u_k=stored.get("part_temperature_u_k"),
        chain_adjusters=stored.get("chain_adjusters", {}),
        fork_runout_mm=stored.get("fork_runout_mm", {}),
    )


def reference_of(stored: Stored) -> Reference:
    known = {key: Tolerance(*row) for key, row in stored["characteristics"].items()}
    handling = stored.get("handling")
    return Reference(
        known,
        stored["levelling"],
        control_points={k: tuple(at) for k, at in stored.get("control_points", {}).items()},
        control_weights=stored.get("control_weights", {}),
        materials=stored["materials"],
        handling=NO_HANDLING if handling is None else Handling(**handling),
        rim_width_mm=stored.get("rim_width_mm", {}),
    )


def survey_as_stored(survey: Survey) -> Stored:
    rows = zip(
        survey.feature,
        survey.label,
        survey.station,
        survey.turn,
        *survey.xyz.T.tolist(),
        [_known(u) for u in survey.u],
        [_known(offset) for offset in survey.offset],
        strict=True,
    )
    assert survey.up is not None
    return {
        "points": [list(row) for row in rows],
        "cov": {str(row): matrix.tolist() for row, matrix in survey.cov.items()},
        "up": list(survey.up),
        "instrument": asdict(survey.instrument),
        "target_spacing": [list(row) for row in survey.target_spacing],
        "part_temperature_c": survey.part_temperature_c,
        "part_temperature_u_k": survey.part_temperature_u_k,
        "chain_adjusters": dict(survey.chain_adjusters),
        "fork_runout_mm": dict(survey.fork_runout_mm),
    }


def reference_as_stored(reference: Reference) -> Stored:
    known = reference.characteristics
    return {
        "characteristics": {
            key: [line.nominal, line.lower, line.upper, line.required]
            for key, line in known.items()
        },
        "levelling": reference.levelling,
        "control_points": {key: list(at) for key, at in reference.control_points.items()},
        "control_weights": dict(reference.control_weights),
        "materials": dict(reference.materials),
        "handling": asdict(reference.handling),
        "rim_width_mm": dict(reference.rim_width_mm),
    }


def _known(number: float) -> float | None:
    return None if math.isnan(number) else float(number)


def plain(result: Result) -> Stored:
    """The result as lists, numbers and words."""
    found: Stored = _plain(result)
    return found


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return {name: _plain(part) for name, part in value._asdict().items()}
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    return value


def text_of(stored: Stored) -> str:
    """One line for each point and each part of the result, so that changes can be read."""
    parts = [f' "about": {json.dumps(stored["about"])}']
    for name in ("survey", "reference", "result"):
        lines = [f'  "{key}": {_lines(value)}' for key, value in stored[name].items()]
        parts.append(f' "{name}": {{\n' + ",\n".join(lines) + "\n }")
    return "{\n" + ",\n".join(parts) + "\n}\n"


def _lines(value: Any) -> str:
    if isinstance(value, list) and value and isinstance(value[0], list | dict):
        return "[\n" + ",\n".join(f"   {json.dumps(one)}" for one in value) + "\n  ]"
    return json.dumps(value)
