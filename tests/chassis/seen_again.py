"""The same survey from elsewhere: moved, in another order, with other names of stations."""

from dataclasses import replace

import numpy as np

from app.chassis.result import Result
from app.chassis.survey import Floats, Survey


def moved(survey: Survey, rotation: Floats, shift: Floats) -> Survey:
    """The whole survey turned and then shifted; what it says of up and of errors turns along."""
    return replace(
        survey,
        xyz=survey.xyz @ rotation.T + shift,
        cov={row: rotation @ matrix @ rotation.T for row, matrix in survey.cov.items()},
        up=None if survey.up is None else tuple((rotation @ np.array(survey.up)).tolist()),
    )


def in_order(survey: Survey, order: list[int]) -> Survey:
    return replace(
        survey,
        feature=tuple(survey.feature[i] for i in order),
        label=tuple(survey.label[i] for i in order),
        station=tuple(survey.station[i] for i in order),
        turn=tuple(survey.turn[i] for i in order),
        xyz=survey.xyz[order],
        u=survey.u[order],
        offset=survey.offset[order],
        cov={new: survey.cov[old] for new, old in enumerate(order) if old in survey.cov},
    )


def stations_called(survey: Survey, names: dict[str, str]) -> Survey:
    called = tuple(s if s is None else names.get(s, s) for s in survey.station)
    return replace(survey, station=called)


def largest_difference(one: Result, other: Result) -> float:
    """Of all values, in mm and degrees; the keys, verdicts and warnings must be the same."""
    assert [x.key for x in one.characteristics] == [x.key for x in other.characteristics]
    assert [x.verdict for x in one.characteristics] == [x.verdict for x in other.characteristics]
    assert [x.code for x in one.warnings] == [x.code for x in other.warnings]
    assert (one.rig_check.verdict, one.orientation) == (other.rig_check.verdict, other.orientation)
    values = ([item.value for item in result.characteristics] for result in (one, other))
    return float(max(abs(a - b) for a, b in zip(*values, strict=True)))


def largest_change_of_u(one: Result, other: Result) -> float:
    """Relative to each standard uncertainty."""
    return max(
        (
            abs(a.standard_uncertainty / b.standard_uncertainty - 1.0)
            for a, b in zip(one.characteristics, other.characteristics, strict=True)
            if b.standard_uncertainty
        ),
        default=0.0,
    )
