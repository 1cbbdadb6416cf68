"""All values of several surveys together, and the weights by which they make one of each.

With y the values, V their joint covariance and A what says which value is which characteristic,
the combined values are (A' V⁻¹ A)⁻¹ A' V⁻¹ y with covariance (A' V⁻¹ A)⁻¹ (A. C. Aitken, Proc. R.
Soc. Edinb. 55 (1935) 42-48; from memory). What follows from the other characteristics of its own
survey (the levelled ones from the distances) adds nothing and is carried along with them.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from app.chassis.sharing import Session, joint_covariance
from app.chassis.survey import Floats

FOLLOWS = 1e-6
"""A characteristic whose variance is left by less than this share of it, once the ones before it
are known, follows from them."""


class Values(NamedTuple):
    """All values of all sessions. key, session: (n,); free: (n,), which are not fixed and follow
    from no other of their survey."""

    value: Floats
    covariance: Floats
    key: list[str]
    session: list[int]
    free: list[int]


def together(sessions: Sequence[Session]) -> Values:
    """The values of all sessions, one after the other, with their joint covariance."""
    covariance = joint_covariance(sessions)
    items = [(n, item) for n, s in enumerate(sessions) for item in s.result.characteristics]
    keys = [item.key for _, item in items]
    numbers = [number for number, _ in items]
    free = told_by_all(keys, numbers, covariance)
    return Values(
        np.array([item.value for _, item in items]),
        covariance,
        keys,
        numbers,
        [place for place, key in enumerate(keys) if key in free],
    )


def told_by_all(keys: Sequence[str], session: Sequence[int], covariance: Floats) -> set[str]:
    """Keys that in no survey are fixed or follow from those before them.

    One choice for all surveys: what follows in one of them only just, and in another only just not,
    would else be told by some surveys and left out by others.
    """
    known = [_Known(covariance) for _ in range(max(session) + 1)]
    chosen: set[str] = set()
    for key in dict.fromkeys(keys):
        places = [place for place, name in enumerate(keys) if name == key]
        rows = [known[session[place]].beside(place) for place in places]
        if all(left > FOLLOWS for _, left in rows):
            chosen.add(key)
            for place, (row, left) in zip(places, rows, strict=True):
                known[session[place]].add(place, row, left)
    return chosen


class _Known:
    """What is known of one survey's values, as Cholesky's factors row by row, in units of their
    standard deviations."""

    def __init__(self, covariance: Floats) -> None:
        self.covariance = covariance
        self.places: list[int] = []
        self.rows: list[list[float]] = []

    def beside(self, place: int) -> tuple[list[float], float]:
        """The row of one more value, and the share of its variance that is left."""
        own = float(self.covariance[place, place])
        if own <= 0.0:
            return [], 0.0
        row: list[float] = []
        for earlier, factors in zip(self.places, self.rows, strict=True):
            size = math.sqrt(own * float(self.covariance[earlier, earlier]))
            inner = sum(a * b for a, b in zip(row, factors, strict=False))
            row.append((float(self.covariance[place, earlier]) / size - inner) / factors[-1])
        return row, 1.0 - sum(part * part for part in row)

    def add(self, place: int, row: list[float], left: float) -> None:
        self.places.append(place)
        self.rows.append([*row, math.sqrt(left)])


def weights_of(values: Values, keys: list[str]) -> Floats:
    """(k, n): how the combined values are made of all values."""
    free = values.free
    told = [key for key in keys if key in {values.key[i] for i in free}]
    weights = np.zeros((len(keys), len(values.key)))
    rows = [keys.index(key) for key in told]
    design = np.array([[float(values.key[i] == key) for key in told] for i in free])
    covariance = values.covariance[np.ix_(free, free)]
    size = np.sqrt(covariance.diagonal())
    inverse = np.linalg.inv(covariance / np.outer(size, size)) / np.outer(size, size)
    normal = design.T @ inverse @ design
    weights[np.ix_(rows, free)] = np.linalg.solve(normal, design.T @ inverse)
    for key in keys:
        if key not in told:
            _carry(values, keys, key, weights)
    return weights


def _carry(values: Values, keys: list[str], key: str, weights: Floats) -> None:
    """A characteristic that follows from others: its mean, moved as those were moved."""
    places = [i for i, name in enumerate(values.key) if name == key]
    row = keys.index(key)
    for place in places:
        weights[row, place] += 1.0 / len(places)
        own = [i for i in values.free if values.session[i] == values.session[place]]
        block = values.covariance[np.ix_(own, own)]
        size = np.sqrt(block.diagonal())
        slopes = np.linalg.solve(block / np.outer(size, size), values.covariance[own, place] / size)
        for i, slope in zip(own, (slopes / size).tolist(), strict=True):
            moved = weights[keys.index(values.key[i])].copy()
            moved[i] -= 1.0
            weights[row] += slope / len(places) * moved
