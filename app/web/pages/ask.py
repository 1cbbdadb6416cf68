"""One question with one text for an answer: a reason, a name, a note."""

from dataclasses import dataclass
from typing import ClassVar

from app.web.rendering import Page


@dataclass(frozen=True, kw_only=True)
class AskPage(Page):
    template: ClassVar[str] = "pages/ask.html"
    lead: tuple[str, ...]
    """What to know before answering, a sentence each."""
    field: str
    label: str
    hint: str
    long: bool
    """The answer may have several lines."""
    button: str
    action: str
    back: str
    back_label: str


@dataclass(frozen=True, kw_only=True)
class FloorAskPage(AskPage):
    """The same on the technician's tablet."""

    on_the_floor: ClassVar[bool] = True
