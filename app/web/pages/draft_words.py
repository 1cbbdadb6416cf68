"""A measurement in progress in words: its readings as they were typed, what they give so far."""

from dataclasses import dataclass

from app.schemas.result import ResultOut
from app.services.drafts import DraftPoint, Preview
from app.web.form_state import said
from app.web.pages.words import Mark, mark
from app.wording import labels, noticed
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Reading:
    """One point as it is on record."""

    id: int
    feature: str
    label: str
    station: str
    x: str
    y: str
    z: str
    u: str
    stands: bool
    gone: str
    """Why it does not stand; empty for one that does."""


@dataclass(frozen=True, slots=True)
class SoFar:
    """What the points so far give."""

    finding: Mark | None
    sentence: str
    lines: tuple[str, ...]
    complete: bool
    """There is a result: it can be submitted."""


def reading_of(point: DraftPoint) -> Reading:
    """A point, with as many digits as were typed where they were typed."""
    sent, typed = point.sent, point.as_entered

    def text(name: str) -> str:
        value = typed.get(name) or sent.get(name)
        # One decimal sign on a page, whoever typed which; on record stands what was typed.
        return "" if value is None else str(value).replace(",", ".")

    return Reading(
        id=point.id,
        feature=labels.feature(str(sent.get("feature") or "")),
        label=str(sent.get("label") or ""),
        station=noticed.station(str(sent["station"])) if sent.get("station") else "",
        x=text("x"),
        y=text("y"),
        z=text("z"),
        u=text("u"),
        stands=point.stands,
        gone="" if point.stands else gone_word(point.because or ""),
    )


def gone_word(because: str) -> str:
    """Why a point is kept and does not stand."""
    words = {
        "undone": _("taken back"),
        "replaced": _("measured anew"),
        "set_up_moved": _("discarded: the set-up moved"),
    }
    return words.get(because, because)


def so_far_of(preview: Preview) -> SoFar:
    """What the points so far give, or why they give nothing yet."""
    if preview.result is not None:
        return result_so_far(preview.result)
    sentence = said(preview.refusal) if preview.refusal else ""
    return SoFar(None, sentence, (), complete=False)


def result_so_far(result: ResultOut) -> SoFar:
    """A result in few lines."""
    lines = [f"{one['name']}: {one['sense']}" for one in result["characteristics"] if one["sense"]]
    return SoFar(
        finding=mark(result["finding"]["verdict"]),
        sentence=result["rig_check"]["sentence"],
        lines=tuple(lines),
        complete=True,
    )


def state_word(state: str) -> str:
    """Whether points can still be added."""
    words = {
        "open": _("in progress"),
        "submitted": _("submitted"),
        "discarded": _("discarded"),
    }
    return words.get(state, state)
