"""What the floor shows of a measurement: its steps, what was noticed, where it stands."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from app.schemas.planning import PlanOut
from app.services.draft_views import DraftPoint, DraftView
from app.services.floor_outline import Nominals
from app.services.survey_documents import Figures

GOOD = frozenset({"station_again"})
ASKS_AGAIN = frozenset({"station_near"})


@dataclass(frozen=True, slots=True)
class Told:
    """Something noticed about the points so far: said at once, decided by nobody but people."""

    code: str
    feature: str | None
    facts: Mapping[str, object]
    met: str
    """What was met, with the number."""
    needed: str
    """What is needed."""
    do: str
    """What to do."""
    points: tuple[int, ...]
    """Ids of the points that it speaks of."""
    step: str | None
    """Code of the step that it belongs to: of its last point."""
    sentence: str
    """The three in one."""
    grave: bool
    """A point that cannot be, or a set-up that moved: not merely advice."""
    steps: tuple[str, ...] = ()
    """Codes of all steps that it speaks of; one that is merely contradicted is none of them."""

    @property
    def good(self) -> bool:
        """Said so that people know, with nothing to mend."""
        return self.code in GOOD

    @property
    def asks_again(self) -> bool:
        """The step is complete, and yet had better be measured anew: the page stays there."""
        return self.code in ASKS_AGAIN


@dataclass(frozen=True, slots=True)
class StepView:
    code: str
    """Unique in its draft, `[a-z0-9_.]+`; stands in the page's address."""
    kind: str
    """The feature, or `cautions`, `visual_check`, `play`, `mounting`, `adjusters`, `temperature`,
    `rig`, `fork_runout`."""
    group: str
    """`before`, `rig`, `datum`, `steering`, `head`, `points`, `axes`, `arm`, `fork`, `wheels`,
    `again`, `closing`, `beside`."""
    feature: str | None
    label: str | None
    station: str | None
    turn: str | None
    turn_deg: float | None
    names: tuple[str, ...]
    """Names of its points where these differ: targets, or ends of a line."""
    open_names: tuple[str, ...]
    wanted: int
    least: int
    keys: tuple[str, ...]
    required: bool
    state: str
    """`done`, `begun`, `open`."""
    current: bool
    points: tuple[DraftPoint, ...]
    """That stand, in order."""
    told: tuple[Told, ...]

    @property
    def next_name(self) -> str | None:
        """The target or end that the next point is of."""
        return self.open_names[0] if self.open_names else None


@dataclass(frozen=True, slots=True)
class Moved:
    """The set-up did not stand still."""

    scope: str
    """`steering`: the targets alone; `everything`: the datum too. Not known before the datum was
    measured again: then nothing is to be put away yet."""
    stations: tuple[str, ...]
    """Whose points are to be put away; empty where everything is."""
    points: int
    """How many points go."""


@dataclass(frozen=True, slots=True)
class FloorView:
    draft: DraftView
    ordered: bool
    """Somebody gave the order, in words or by signing."""
    steps: tuple[StepView, ...]
    current: str | None
    """Code of the step to do next; None: nothing required is left, ready to submit."""
    told: tuple[Told, ...]
    """All that was noticed and still stands."""
    moved: Moved | None
    paused_at: datetime | None
    """Since when the measurement rests; None: it does not."""
    repeats: tuple[str, ...]
    """Codes of the steps that are measured again after a pause."""
    live_step: str | None
    """Where points go that an instrument sends without saying what they are."""
    targets: tuple[str, ...]
    """Names of the steering targets."""
    saved_version: int
    saved_at: datetime
    nominals: Nominals
    """Where the reference has things, for the drawing."""
    figures: Figures
    """What is known of the instrument's points."""
    plan: PlanOut | None
    """As far as it was worked out for this version; ask `floor.plan` for it."""

    def step(self, code: str) -> StepView | None:
        return next((step for step in self.steps if step.code == code), None)


@dataclass(frozen=True, slots=True)
class Done:
    """What became of something sent from the floor."""

    draft_id: int
    version: int
    points: tuple[int, ...]
    """Ids of the points that were stored."""
    told: tuple[Told, ...]
    """What was noticed about these points."""
    plausible: bool
    """Nothing grave among it."""
    next_step: str | None
    again: bool
    """The request had come before: nothing new was stored."""
    repeats: tuple[int, ...] = ()
    """Ids of points that somebody else took before of what was read here: they count together."""


@dataclass(frozen=True, slots=True)
class News:
    """What came since a version of the draft."""

    version: int
    live_step: str | None
    points: tuple[DraftPoint, ...]
    """Taken since, as far as they stand."""
    told: tuple[Told, ...]
