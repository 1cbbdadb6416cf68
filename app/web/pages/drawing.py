"""The outline with the choice by how many times deviations are drawn."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from markupsafe import Markup

from app.web.drawn import Views
from app.web.pages.words import Fact
from app.web.rendering import Page
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Beside:
    """One of several drawings that stand side by side."""

    title: str
    view: Markup


@dataclass(frozen=True, slots=True)
class Drawing:
    """What is drawn: three views, or one view of several measurements side by side."""

    views: Views | None
    beside: tuple[Beside, ...] = ()


@dataclass(frozen=True, slots=True)
class Times:
    """One exaggeration to choose."""

    value: int
    label: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Exaggeration:
    """The choice of the exaggeration, as a form without a script and as a slider with it."""

    choices: tuple[Times, ...]
    place: int
    """Which of them is drawn, counted from nothing."""
    now: str
    page: str
    """Where the page with a choice lies."""
    alone: str
    """Where the drawing alone lies."""
    kept: tuple[Fact, ...]
    """What else the address says."""


@dataclass(frozen=True, kw_only=True)
class DrawingPage(Page):
    """The drawing alone: what the slider asks for, since a page holds the rest already."""

    template: ClassVar[str] = "pages/drawing.html"
    number: str
    back: str
    back_label: str
    drawing: Drawing
    times: Exaggeration | None


def asked(request: Request, name: str) -> int | None:
    """A whole number of the address; None where it says none that can be meant."""
    text = request.query_params.get(name, "")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 6 else None


def exaggeration_of(
    drawn: int, offered: tuple[int, ...], page: str, alone: str, kept: tuple[Fact, ...] = ()
) -> Exaggeration | None:
    """The choice; None where there is nothing to choose from."""
    if len(offered) < 2:
        return None
    values = tuple(sorted({*offered, drawn}))
    return Exaggeration(
        choices=tuple(Times(one, times(one), one == drawn) for one in values),
        place=values.index(drawn),
        now=times(drawn),
        page=page,
        alone=alone,
        kept=kept,
    )


def times(factor: int) -> str:
    """A factor in words."""
    return _("true size") if factor == 1 else _("{factor} times").format(factor=factor)
