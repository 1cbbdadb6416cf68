"""What is noticed of readings, worked out before the write lock is taken: where something was
measured again the engine is asked, and nobody should have to wait for that.

It counts only for the very same points of an unchanged draft; else it is worked out anew.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import fields

import numpy as np

from app.chassis.noticed import Noticed
from app.chassis.readings import look
from app.chassis.survey import Reference, Survey
from app.services.floor_memory import Memory, Stand
from app.services.floor_told import Taken, kept_of

Points = Sequence[Mapping[str, object]]

AHEAD: Memory[tuple[Survey, tuple[Noticed, ...]]] = Memory()


def work_out(found: Stand, points: Points, taken: Taken, reference: Reference) -> None:
    """Remembers what is noticed once these points are stored. found: how the draft stands before;
    taken: all that stands after."""
    key = _key(found, points)
    if key is not None:
        AHEAD.put(key, (taken.survey, look(taken.survey, reference)))


def noticed(found: Stand, points: Points, taken: Taken, reference: Reference) -> str:
    """What is noticed once these points are stored, as it is kept: as it was worked out before, if
    that was of the same survey."""
    key = _key(found, points)
    before = None if key is None else AHEAD.get(key)
    if before is not None and _is_same(before[0], taken.survey):
        return kept_of(before[1], taken)
    return kept_of(look(taken.survey, reference), taken)


def _key(found: Stand, points: Points) -> tuple[object, str] | None:
    """The draft by its mark, which is new with each change, and what was sent; None without one."""
    known = found.key()
    return None if known is None else (known, json.dumps(points, sort_keys=True, default=str))


def _is_same(one: Survey, other: Survey) -> bool:
    """Whether the engine would see the same, number by number."""
    pairs = [(getattr(one, it.name), getattr(other, it.name)) for it in fields(Survey)]
    return all(_equal(*pair) for pair in pairs)


def _equal(one: object, other: object) -> bool:
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        return np.array_equal(one, other, equal_nan=True)
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(_equal(one[it], other[it]) for it in one)
    return bool(one == other)
