"""From machines of one model that are in order to what that model measures.

Each characteristic is taken by itself: mean, uncertainty of the mean, the interval that holds the
stated part of all such machines, and the machine that stands farthest out. Nothing is dropped
here; a machine that a person leaves out is not handed in.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from app.chassis.result import Characteristic, Result
from app.chassis.survey import Floats
from app.metrology.population import Population, population

FEWEST = 3
ADVISED = 10
"""From so many machines on the interval is not several times as wide as the machines differ."""

MAGNITUDES = frozenset({"face_squareness", "bore_runout"})
"""Never below zero, so that no normal population stands behind them."""

OF_THE_INSTRUMENT = frozenset({"instrument_offset", "instrument_scale"})
OF_THE_SHOP = frozenset({"temperature", "expansion", "target_spacing"})
"""Same alloy, same thermometer, same bracket: taken as common to all machines. How square a face
is, is each machine's own."""


class Measured(NamedTuple):
    """One machine: its name, its result, and what measured it (equal names: one instrument)."""

    name: str
    result: Result
    instrument: str | None = None


class Described(NamedTuple):
    """One characteristic over all machines that have it."""

    key: str
    unit: str
    machines: tuple[str, ...]
    values: tuple[float, ...]
    uncertainties: tuple[float, ...]
    population: Population
    magnitude: bool


class TooFew(NamedTuple):
    """A characteristic that fewer than three machines have."""

    key: str
    machines: int


class Model(NamedTuple):
    described: tuple[Described, ...]
    too_few: tuple[TooFew, ...]


def described(
    machines: Sequence[Measured], content: float, confidence: float, significance: float
) -> Model:
    """Describe the model by its machines, characteristic by characteristic in the order met.

    What levelling makes equal to its nominal is left out. content, confidence: of the tolerance
    interval; significance: of the outlier test; all between 0 and 1.
    """
    found: list[Described] = []
    missing: list[TooFew] = []
    for key in _keys(machines):
        having = [one for one in machines if key in one.result.covariance_keys]
        if len(having) < FEWEST:
            missing.append(TooFew(key, len(having)))
            continue
        found.append(_described(key, having, content, confidence, significance))
    return Model(tuple(found), tuple(missing))


def _keys(machines: Sequence[Measured]) -> list[str]:
    keys: dict[str, None] = {}
    for machine in machines:
        for one in machine.result.characteristics:
            if not one.set_by_levelling:
                keys.setdefault(one.key)
    return list(keys)


def _described(
    key: str,
    machines: Sequence[Measured],
    content: float,
    confidence: float,
    significance: float,
) -> Described:
    lines = [_line(machine.result, key) for machine in machines]
    values = np.array([line.value for line in lines])
    u = np.array([line.standard_uncertainty for line in lines])
    shared = _shared(key, machines)
    own = np.sqrt(np.maximum(0.0, u**2 - np.sum(shared**2, axis=1)))
    return Described(
        key,
        lines[0].unit,
        tuple([machine.name for machine in machines]),
        tuple(values.tolist()),
        tuple(u.tolist()),
        population(values, own, shared, content, confidence, significance),
        key in MAGNITUDES,
    )


def _line(result: Result, key: str) -> Characteristic:
    return next(line for line in result.characteristics if line.key == key)


def _shared(key: str, machines: Sequence[Measured]) -> Floats:
    """(n, causes): what each cause that machines have in common contributes to each value."""
    columns: dict[tuple[str, str | None], Floats] = {}
    for place, machine in enumerate(machines):
        shared = machine.result.shared
        row = machine.result.covariance_keys.index(key)
        for column, cause in enumerate(shared.causes):
            kind = cause.partition(".")[0]
            if kind not in OF_THE_INSTRUMENT | OF_THE_SHOP:
                continue
            owner = machine.instrument if kind in OF_THE_INSTRUMENT else None
            values = columns.setdefault((cause, owner), np.zeros(len(machines)))
            values[place] += shared.derivatives[row, column]
    if not columns:
        return np.zeros((len(machines), 0))
    return np.stack(list(columns.values()), axis=1)
