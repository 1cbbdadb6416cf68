"""Drawings on a page: the one place where markup that our own rooms made is trusted."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from app.drawings import floor
from app.drawings.code import code
from app.drawings.deviations import ALWAYS_TOLD, MOST_TOLD
from app.drawings.exaggeration import closest_factor, fitting_factor, offered_factors
from app.drawings.floor_places import Layout
from app.drawings.outline import one_view, three_views
from app.drawings.signature import Stroke
from app.drawings.signature import signature as signature_drawing
from app.drawings.tolerance_bar import Bar, shared_scale, tolerance_bar
from app.schemas.result import CharacteristicOut, OutlineOut, ResultOut
from app.wording import bar_ends
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
    offered: tuple[int, ...] = ()
    """The exaggerations that may be asked for, the smallest first."""


IN_ONE = "outline"
"""Begins the identifiers of a drawing that its page holds once."""


def outline(result: ResultOut, times: int | None = None) -> Views | None:
    """The outline of a result, `times` exaggerated or as it fits; None when the survey gives
    nothing to draw."""
    return drawn_views(result["outline"], None, times, shared=IN_ONE)


def drawn_views(
    measured: OutlineOut,
    before: OutlineOut | None,
    times: int | None = None,
    *,
    during: OutlineOut | None = None,
    phase: str = "after",
    shared: str = "",
) -> Views | None:
    """The same from stored outlines, such as those of a certificate.

    With `shared` the single views need the sheet on the same page.
    """
    if not measured["measured"]:
        return None
    drawn = [one for one in (measured, before, during) if one is not None]
    made = three_views(
        measured,
        before,
        exaggeration=None if times is None else closest_factor(times, drawn),
        during=during,
        phase=phase,
        shared=shared,
        listed=MOST_TOLD if shared else ALWAYS_TOLD,
    )
    single = tuple(Markup(svg) for svg in (made.side, made.above, made.behind))
    offered = offered_factors(drawn)
    return Views(Markup(made.sheet), single, made.exaggeration, made.named, offered)


def drawn_alike(
    outlines: Sequence[OutlineOut], view: str, times: int | None = None
) -> tuple[tuple[Markup, ...], int, tuple[int, ...]]:
    """One view of each, all exaggerated by the same factor; the factor, and those on offer."""
    factor = fitting_factor(outlines) if times is None else closest_factor(times, outlines)
    drawn = tuple(
        Markup(one_view(outline, view, exaggeration=factor) if outline["measured"] else "")
        for outline in outlines
    )
    return drawn, factor, offered_factors(outlines)


def row_bar(one: CharacteristicOut, before: CharacteristicOut | None = None) -> Markup:
    """The tolerance bar of a row that says in words what the bar shows; empty without limits.

    Its page must hold `scale`.
    """
    drawn = bar_of(one, before)
    return Markup(tolerance_bar(drawn, "", shared=True) if drawn else "")


def scale() -> Markup:
    """What the bars of a page have in common."""
    return Markup(shared_scale())


def bar_of(one: CharacteristicOut, before: CharacteristicOut | None) -> Bar | None:
    """The values of a bar; None without a deviation."""
    if one["deviation"] is None:
        return None
    ends = bar_ends.ends(one["key"])
    return Bar(
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


def leading_to(address: str) -> Markup:
    """An address as a code for a camera, said in words for those who cannot see it."""
    return Markup(code(address, _("Code that leads to {address}").format(address=address)))
