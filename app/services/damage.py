"""Visible damage of a job: kept as one list, read by zone or as lines of text."""

import json
from dataclasses import dataclass

from app.schemas.check_in import VisitIn
from app.wording import damage as words


@dataclass(frozen=True, slots=True)
class DamageView:
    """Damage seen in one zone of the machine."""

    zone: str
    """One of `schemas.damage.ZONES`."""
    side: str | None
    """`left`, `right`, `both`."""
    look: str | None
    """One of `schemas.damage.LOOKS`; None: only that there is damage."""
    note: str | None

    @property
    def line(self) -> str:
        """The damage in words."""
        return words.line(self.zone, self.side, self.look, self.note)


def document(form: VisitIn) -> str:
    """What the record of the job keeps: zones as objects, then free lines."""
    by_zone = [one.model_dump(exclude_none=True) for one in form.damage]
    return json.dumps([*by_zone, *form.visible_damage], ensure_ascii=False)


def zones(document: str) -> tuple[DamageView, ...]:
    """The damage that was seen by zone."""
    return tuple(_view(one) for one in json.loads(document) if isinstance(one, dict))


def lines(document: str) -> tuple[str, ...]:
    """All damage in words."""
    return tuple(
        _view(one).line if isinstance(one, dict) else str(one) for one in json.loads(document)
    )


def _view(kept: dict[str, str]) -> DamageView:
    return DamageView(kept["zone"], kept.get("side"), kept.get("look"), kept.get("note"))
