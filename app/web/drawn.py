"""Drawings on a page: the one place where markup that our own rooms made is trusted."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from app.drawings import floor
from app.drawings.code import code
from app.drawings.floor_places import Layout
from app.drawings.outline import three_views
from app.drawings.signature import Stroke
from app.drawings.signature import signature as signature_drawing
from app.drawings.tolerance_bar import Bar, tolerance_bar
from app.schemas.result import CharacteristicOut, OutlineOut, ResultOut
from app.wording import bar_ends, numbers
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Views:
    """The outline: a sheet with three views lined up for wide screens, each alone for narrow."""

    sheet: Markup
    single: tuple[Markup, ...]
    """Side view first."""
    exaggeration: int
    named: bool
    """Whether the words of the arrows begin with names: the sheet then wants the whole width."""


def outline(result: ResultOut) -> Views | None:
    """The outline of a result; None when the survey gives nothing to draw."""
    return drawn_views(result["outline"], None)


def outline_pair(before: ResultOut, after: ResultOut) -> tuple[Views | None, Views | None]:
    """Before alone, and after with before behind it, both exaggerated alike."""
    later = drawn_views(after["outline"], before["outline"])
    factor = later.exaggeration if later else None
    return drawn_views(before["outline"], None, factor), later


def drawn_views(
    measured: OutlineOut, before: OutlineOut | None, exaggeration: int | None = None
) -> Views | None:
    """The same from stored outlines, such as those of a certificate."""
    if not measured["measured"]:
        return None
    made = three_views(measured, before, exaggeration=exaggeration)
    single = tuple(Markup(svg) for svg in (made.side, made.above, made.behind))
    return Views(Markup(made.sheet), single, made.exaggeration, made.named)


def bar(one: CharacteristicOut, before: CharacteristicOut | None = None) -> Markup:
    """The tolerance bar of a characteristic; empty without limits."""
    if one["deviation"] is None:
        return Markup("")
    ends = bar_ends.ends(one["key"])
    drawn = Bar(
        deviation=one["deviation"],
        expanded_uncertainty=one["expanded_uncertainty"],
        lower=one["lower"],
        upper=one["upper"],
        verdict=one["verdict"],
        before=before["deviation"] if before else None,
        left_end=ends.left,
        right_end=ends.right,
        mirrored=ends.mirrored,
    )
    return drawn_bar(drawn, spoken(one, before))


def signature(strokes: Sequence[Stroke], name: str) -> Markup:
    """What somebody signed with; empty where nothing was drawn."""
    words = _("Signature of {name}").format(name=name or _("not stated"))
    return Markup(signature_drawing(strokes, words))


def drawn_bar(drawn: Bar, words: str) -> Markup:
    """A bar whose values are settled, with what it shows in words."""
    return Markup(tolerance_bar(drawn, words))


def where_to_measure(plan: Layout, marks: Sequence[floor.Mark], turn_deg: float) -> Markup:
    """The machine with the next point marked; turn_deg: of the steering, to the left positive."""
    return Markup(floor.where(plan, marks, turn_deg))


def spoken(one: CharacteristicOut, before: CharacteristicOut | None) -> str:
    """What the bar shows, for those who cannot see it."""
    expanded = one["expanded_uncertainty"]
    parts = [
        one["name"],
        one["sense"],
        numbers.spread(expanded, one["unit"], numbers.places(expanded)),
        _("allowed: {limits}").format(
            limits=numbers.limits(one["lower"], one["upper"], one["unit"])
        ),
    ]
    if before:
        parts.append(_("before: {sense}").format(sense=before["sense"]))
    return ", ".join(parts)


def leading_to(address: str) -> Markup:
    """An address as a code for a camera, said in words for those who cannot see it."""
    return Markup(code(address, _("Code that leads to {address}").format(address=address)))
