"""The blocks `combined` and `change` of a result: several surveys together, and two compared."""

from typing_extensions import TypedDict


class SharedOut(TypedDict):
    """Causes that another survey may share, and how one standard uncertainty of each moves the
    characteristics, in the order of the covariance's keys."""

    causes: list[str]
    derivatives: list[list[float]]


class CombinedOut(TypedDict):
    surveys: int
    statistic: float | None
    """Chi-square of what the surveys differ from the combined values; None: nothing in common."""
    limit: float | None
    """At 0.1 %."""
    degrees_of_freedom: int | None
    sentence: str


class ChangedOut(TypedDict):
    """One characteristic after less before, with the uncertainty that leaves out what both
    measurements share."""

    key: str
    name: str
    unit: str
    before: float
    after: float
    change: float
    standard_uncertainty: float
    degrees_of_freedom: float | None
    """None: infinite."""
    expanded_uncertainty: float
    coverage_factor: float
    significant: bool
    """Whether the change exceeds its expanded uncertainty (95 %)."""
    sense_code: str
    sense: str
    """Which way it changed, in words: no minus."""


class ChangeOut(TypedDict):
    same_instrument: bool
    """Whether errors of the instrument's scale and probe are the same in both, and drop out."""
    characteristics: list[ChangedOut]
