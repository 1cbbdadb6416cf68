"""A survey as it would be with some of its points alone."""

from collections.abc import Sequence
from dataclasses import replace

from app.chassis.survey import Survey


def kept(survey: Survey, places: Sequence[int]) -> Survey:
    """The survey with the points at these places (indices into its points), in that order."""
    chosen = list(places)
    return replace(
        survey,
        feature=tuple([survey.feature[i] for i in chosen]),
        label=tuple([survey.label[i] for i in chosen]),
        station=tuple([survey.station[i] for i in chosen]),
        turn=tuple([survey.turn[i] for i in chosen]),
        xyz=survey.xyz[chosen],
        u=survey.u[chosen],
        offset=survey.offset[chosen],
        cov={new: survey.cov[old] for new, old in enumerate(chosen) if old in survey.cov},
    )
