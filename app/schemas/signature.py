"""A signature as it was drawn on a screen, or the tick that the printed card was signed.

A point of a stroke is a pair of whole thousandths of the field's width, from its top left corner.
"""

import json
import math
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field, model_validator
from pydantic.functional_validators import BeforeValidator

from app.errors import BadInput, Problem
from app.schemas.form import Form, Ticked
from app.schemas.json_text import read_json
from app.schemas.sent import Line, Prose, wrong

WIDTH, HEIGHT = 1000, 360
"""Of the field that is signed in."""
MOST_STROKES = 200
MOST_POINTS = 4000
SHORTEST = 150.0
"""Of all strokes together: less is a dot, or a sleeve that brushed the screen."""

Purpose = Literal["authorisation", "privacy"]
PURPOSES: tuple[str, ...] = Purpose.__args__  # type: ignore[attr-defined]

Across = Annotated[int, Field(strict=True, ge=0, le=WIDTH)]
Down = Annotated[int, Field(strict=True, ge=0, le=HEIGHT)]
Stroke = Annotated[tuple[tuple[Across, Down], ...], Field(min_length=1, max_length=MOST_POINTS)]
Strokes = tuple[Stroke, ...]


def length(strokes: Strokes) -> float:
    """How long the strokes are together, in thousandths of the field's width."""
    pairs = [pair for stroke in strokes for pair in pairwise(stroke)]
    return sum(math.dist(one, other) for one, other in pairs)


def canonical(strokes: Strokes) -> str:
    """The strokes as they are kept and hashed."""
    plain = [[list(point) for point in stroke] for stroke in strokes]
    return json.dumps(plain, separators=(",", ":"))


def _decoded(sent: object) -> object:
    """A form sends the strokes as a text that holds JSON."""
    if not isinstance(sent, str):
        return sent
    try:
        return read_json(sent)
    except BadInput:
        raise wrong(Problem("signature_unreadable", "")) from None


class SignatureIn(Form):
    """Who signed what, and how: either strokes or `on_card`."""

    purpose: Purpose
    name: Line
    on_card: Ticked = False
    strokes: Annotated[
        Annotated[Strokes, Field(max_length=MOST_STROKES)] | None, BeforeValidator(_decoded)
    ] = None
    wording: Prose | None = None
    """The text that was signed, as it was shown."""
    left: Prose | None = None
    """What was left here and in which state, as it was shown. It may tell of a person, so that
    only the log keeps it, from which it can be erased."""

    @model_validator(mode="after")
    def _signed_in_one_way(self) -> "SignatureIn":
        if self.on_card and self.strokes:
            raise wrong(Problem("signed_twice", "strokes"))
        if not self.on_card:
            _require_drawn(self.strokes or ())
        return self


def _require_drawn(strokes: Strokes) -> None:
    points = sum(len(stroke) for stroke in strokes)
    if points > MOST_POINTS:
        raise wrong(Problem("too_many", "strokes", {"met": points, "limit": MOST_POINTS}))
    if not strokes:
        raise wrong(Problem("not_signed", "strokes"))
    if length(strokes) < SHORTEST:
        raise wrong(Problem("signature_too_short", "strokes"))
