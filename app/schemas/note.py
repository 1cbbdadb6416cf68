"""A note on a job, a wish that somebody be called, and a call that was made."""

from typing import Literal

from app.schemas.form import Form
from app.schemas.sent import Prose

Whom = Literal["customer", "adjuster"]

WHOM: tuple[str, ...] = Whom.__args__  # type: ignore[attr-defined]

Outcome = Literal["reached", "message_left", "not_reached"]

OUTCOMES: tuple[str, ...] = Outcome.__args__  # type: ignore[attr-defined]


class NoteIn(Form):
    """With `call` the note says why that person is to be called."""

    words: Prose
    call: Whom | None = None


class CallIn(Form):
    whom: Whom
    outcome: Outcome
    words: Prose | None = None
    """What was said."""
