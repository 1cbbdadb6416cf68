"""A correction: what was done to a machine, to which part, by which method, by whom and when."""

from typing import Literal

from app.schemas.form import Form, Identity
from app.schemas.sent import Day, Line, Prose

Part = Literal[
    "head", "frame", "rear_frame", "engine_mounts", "pivot", "swing_arm", "fork", "front_wheel",
    "rear_wheel", "other",
]  # fmt: skip

PARTS: tuple[str, ...] = Part.__args__  # type: ignore[attr-defined]

Method = Literal["pulled", "pressed", "adjusted", "replaced", "heated", "welded", "other"]

METHODS: tuple[str, ...] = Method.__args__  # type: ignore[attr-defined]

BY_FORCE_OR_HEAT = frozenset({"pulled", "pressed", "heated", "welded"})
"""What the maker may forbid: it is told which instruction was followed, or that none was named."""

STRAIGHTENING = frozenset({"pulled", "pressed", "heated"})
"""What bends metal back: none of it while a hold on the frame is open."""

OF_THE_FRAME = frozenset({"head", "frame", "rear_frame", "engine_mounts", "pivot"})
"""Parts that a maker's word on straightening the frame speaks of."""


class CorrectionIn(Form):
    text: Prose
    """What was done."""
    part: Part | None = None
    method: Method | None = None
    instruction: Line | None = None
    """The maker's instruction that was followed: which document, which page."""
    done_by: Line | None = None
    """Who did the work; whoever notes it, unless another is named."""
    done_on: Day | None = None
    """The day that it is noted on, unless another is named."""
    supersedes: Identity | None = None
    """The correction whose words this puts right."""
