"""Drawings on a page: the one place where markup that our own rooms made is trusted."""

from markupsafe import Markup

from app.drawings.outline import three_views
from app.drawings.tolerance_bar import Bar, tolerance_bar
from app.schemas.result import CharacteristicOut, OutlineOut, ResultOut
from app.wording import numbers
from app.wording.translation import _


def outline(result: ResultOut, before: ResultOut | None = None) -> tuple[Markup, ...]:
    """The three views, side view first; none when the survey gives nothing to draw."""
    return drawn_views(result["outline"], before["outline"] if before else None)


def drawn_views(measured: OutlineOut, before: OutlineOut | None) -> tuple[Markup, ...]:
    """The same from stored outlines, such as those of a certificate."""
    if not measured["measured"]:
        return ()
    views = three_views(measured, before)
    return tuple(Markup(svg) for svg in (views.side, views.above, views.behind))


def bar(one: CharacteristicOut, before: CharacteristicOut | None = None) -> Markup:
    """The tolerance bar of a characteristic; empty without limits."""
    if one["deviation"] is None:
        return Markup("")
    drawn = Bar(
        deviation=one["deviation"],
        expanded_uncertainty=one["expanded_uncertainty"],
        lower=one["lower"],
        upper=one["upper"],
        verdict=one["verdict"],
        before=before["deviation"] if before else None,
    )
    return drawn_bar(drawn, spoken(one, before))


def drawn_bar(drawn: Bar, words: str) -> Markup:
    """A bar whose values are settled, with what it shows in words."""
    return Markup(tolerance_bar(drawn, words))


def spoken(one: CharacteristicOut, before: CharacteristicOut | None) -> str:
    """What the bar shows, for those who cannot see it."""
    parts = [
        one["name"],
        one["sense"],
        numbers.spread(one["expanded_uncertainty"], one["unit"]),
        _("allowed: {limits}").format(
            limits=numbers.limits(one["lower"], one["upper"], one["unit"])
        ),
    ]
    if before:
        parts.append(_("before: {sense}").format(sense=before["sense"]))
    return ", ".join(parts)
