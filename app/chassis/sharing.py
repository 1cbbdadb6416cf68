"""What several surveys share, and so the covariance of all their characteristics together.

Each survey states its own covariance and how common causes move its values (`Result.shared`).
Where two surveys share a cause, the same unknown error stands in both: it is correlated between
them, is not averaged down, and drops out of their difference.
"""

from collections.abc import Hashable, Sequence
from typing import NamedTuple

import numpy as np

from app.chassis.result import Result, Shared
from app.chassis.survey import Floats

OF_THE_INSTRUMENT = ("instrument_offset", "instrument_scale")
OF_THE_MACHINE = ("expansion", "face_squareness")
OF_THE_RIG = ("target_spacing",)
OF_THE_DAY = ("temperature",)


class Session(NamedTuple):
    """A survey's result, with what it was made with: equal names are the same thing, None is like
    no other. day: what tells two readings of the thermometer apart."""

    result: Result
    instrument: Hashable = None
    rig: Hashable = None
    machine: Hashable = None
    day: Hashable = None

    def identity(self, cause: str) -> Hashable:
        """Equal for two sessions when the cause is the same error in both; None: its own."""
        first = cause.partition(".")[0]
        for names, owner in (
            (OF_THE_INSTRUMENT, self.instrument),
            (OF_THE_MACHINE, self.machine),
            (OF_THE_RIG, self.rig),
            (OF_THE_DAY, self.day),
        ):
            if first in names:
                return None if owner is None else (cause, owner)
        return None


def joint_covariance(sessions: Sequence[Session]) -> Floats:
    """(n, n) of all values of all sessions, one after the other in the order of their results.

    Raises ValueError for a result that does not tell what it may share.
    """
    sizes = [len(session.result.covariance_keys) for session in sessions]
    starts = np.concatenate(([0], np.cumsum(sizes))).astype(int)
    covariance = np.zeros((starts[-1], starts[-1]))
    for i, one in enumerate(sessions):
        own = slice(starts[i], starts[i + 1])
        covariance[own, own] = one.result.covariance
        for j, other in enumerate(sessions[:i]):
            block = between(one, other)
            covariance[own, starts[j] : starts[j + 1]] = block
            covariance[starts[j] : starts[j + 1], own] = block.T
    return covariance


def between(one: Session, other: Session) -> Floats:
    """(k, m): covariance of the values of two sessions with each other. Raises ValueError as
    `joint_covariance` does."""
    by_one, by_other = _told(one.result), _told(other.result)
    places = {
        identity: place
        for place, cause in enumerate(by_other.causes)
        if (identity := other.identity(cause)) is not None
    }
    pairs = [
        (place, places[identity])
        for place, cause in enumerate(by_one.causes)
        if (identity := one.identity(cause)) in places
    ]
    mine, its = [place for place, _ in pairs], [place for _, place in pairs]
    return np.asarray(by_one.derivatives[:, mine] @ by_other.derivatives[:, its].T)


def _told(result: Result) -> Shared:
    if len(result.shared.derivatives) != len(result.covariance_keys):
        raise ValueError("evaluate with Options(shared=True) what is to be combined or compared")
    return result.shared
