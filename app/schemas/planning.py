"""The block `plan` of a result, and the plan of a draft: what to measure next."""

from typing_extensions import TypedDict


class NeedOut(TypedDict):
    """Something that is needed, by code, and in words."""

    code: str
    feature: str | None
    message: str


class SuggestionOut(TypedDict):
    """One more point or station, and what it would bring."""

    code: str
    feature: str
    facts: dict[str, str | int | float | None]
    points: int
    """How many points it takes."""
    gain: float
    """By how much the uncertainty that is looked at would fall, from 0 to 1."""
    expanded_uncertainty: dict[str, float]
    """By characteristic, in its unit, as foreseen."""
    suffices: bool | None
    """Whether that of the characteristic that is looked at would be within what is allowed."""
    message: str


class OutlookOut(TypedDict):
    """How one characteristic stands, and what would help it most."""

    key: str
    name: str
    unit: str
    expanded_uncertainty: float
    allowed: float | None
    """Half the width of a two-sided tolerance: no larger uncertainty can decide."""
    enough: bool | None
    """Whether the uncertainty is within what is allowed."""
    decided: bool | None
    """Whether there is a verdict now; None without a limit."""
    message: str
    best: SuggestionOut | None


class PlanOut(TypedDict):
    message: str
    """Where the measurement stands as a whole."""
    needed_first: NeedOut | None
    """Why the points so far cannot be evaluated; the rest is then empty."""
    still_needed: list[NeedOut]
    characteristics: list[OutlookOut]
    looked_at: str | None
    """The characteristic that keeps the finding back most, for which `best` was chosen; None: all
    together."""
    best: SuggestionOut | None
    """What helps the finding most; None where nothing brings 2 % or more."""
    candidates: list[SuggestionOut]
    """The best of all that was looked at, best first."""
