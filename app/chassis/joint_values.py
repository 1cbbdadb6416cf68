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
    free, begin = [], 0
    for session in sessions:
        own = range(begin, begin + len(session.result.characteristics))
        free += [begin + i for i in _independent(covariance[np.ix_(own, own)])]
        begin = own.stop
    return Values(
        np.array([item.value for _, item in items]),
        covariance,
        [item.key for _, item in items],
        [number for number, _ in items],
        free,
    )


def _independent(covariance: Floats) -> list[int]:
    """Those that do not follow from the ones before them (Cholesky's factors, row by row)."""
    size = np.sqrt(covariance.diagonal())
    known = np.flatnonzero(size > 0.0)
    scaled = covariance / np.outer(np.where(size > 0.0, size, 1.0), np.where(size > 0.0, size, 1.0))
    factor, chosen = np.zeros((len(size), len(size))), list[int]()
    for place in known.tolist():
        row = factor[place]
        for column, earlier in enumerate(chosen):
            inner = row[:column] @ factor[earlier, :column]
            row[column] = (scaled[place, earlier] - inner) / factor[earlier, column]
        left = scaled[place, place] - row @ row
        if left > FOLLOWS:
            row[len(chosen)] = math.sqrt(left)
            chosen.append(place)
    return chosen


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
