"""What is noticed about a draft's points: worked out when they change, kept beside the draft."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import nan
from typing import Any

import numpy as np
from sqlalchemy.orm import Session

from app.chassis.noticed import Noticed
from app.chassis.readings import look
from app.chassis.survey import Reference, Survey
from app.errors import BadInput, Fact
from app.records.scope import scoped
from app.records.tables import Draft, DraftState, Job, ReferenceRevision
from app.schemas.reading import reference_from
from app.services.draft_views import DraftView, document_with, sent_of, standing_rows
from app.services.floor_views import Told
from app.services.lookup import known
from app.services.permissions import Actor
from app.services.solving import reference_to_engine, to_engine
from app.services.survey_documents import read_document
from app.wording import noticed as words

REFERENCES = "references_of_jobs"
"""Where a session keeps what it has read: one unit of work asks for it three times."""


STATES = "states_of_drafts"
"""The same of the rows kept beside drafts."""


@dataclass(frozen=True, slots=True)
class Taken:
    """Standing points as the engine takes them, with their ids. Read anew with each change of the
    heading, and when a calibration is recorded."""

    survey: Survey
    ids: tuple[int, ...]


Points = Sequence[tuple[int, Mapping[str, object]]]
"""Ids of points, and what was sent of each."""


def refresh(session: Session, actor: Actor, job: Job, draft: Draft) -> None:
    """Looks at the standing points again and keeps what was noticed, for this version."""
    told = look_again(session, actor, job, draft)
    state = state_of(session, actor, draft)
    state.told, state.told_version = told, draft.version


def look_again(
    session: Session, actor: Actor, job: Job, draft: Draft, points: Points | None = None
) -> str:
    """Looks at the standing points again; what was noticed, as it is kept.

    points: those that stand, where they are known already and nothing but points changed.
    """
    if points is None:
        points = [(row.id, sent_of(row)) for row in standing_rows(session, actor, draft)]
    taken = taken_from(session, actor, job, draft, points)
    return looked_at(taken, reference_of(session, actor, job))


def looked_at(taken: Taken, reference: Reference) -> str:
    """What is noticed about the points, as it is kept."""
    return kept_of(look(taken.survey, reference), taken)


def kept_of(found: Sequence[Noticed], taken: Taken) -> str:
    """What was noticed about these points, as it is kept."""
    return json.dumps([_kept(one, taken.ids) for one in found], ensure_ascii=False)


def taken_from(session: Session, actor: Actor, job: Job, draft: Draft, points: Points) -> Taken:
    """The points as the engine takes them, read with the heading and the instrument."""
    survey = _survey(session, actor, job, draft, points)
    return Taken(survey, tuple([one for one, _sent in points]))


def grown(before: Taken | None, points: Points) -> Taken | None:
    """The points as they were before, with what came since; None where these are not known."""
    if before is None or any(sent.get("cov") for _id, sent in points):
        return None
    ids = tuple([one for one, _sent in points])
    kept = [place for place, one in enumerate(before.ids) if one in ids]
    known = set(before.ids)
    new = bare([sent for one, sent in points if one not in known], None)
    old = before.survey
    survey = replace(
        old,
        feature=(*[old.feature[i] for i in kept], *new.feature),
        label=(*[old.label[i] for i in kept], *new.label),
        station=(*[old.station[i] for i in kept], *new.station),
        turn=(*[old.turn[i] for i in kept], *new.turn),
        xyz=np.concatenate([old.xyz[kept], new.xyz]),
        u=np.concatenate([old.u[kept], new.u]),
        offset=np.concatenate([old.offset[kept], new.offset]),
    )
    return Taken(survey, ids)


def state_row(session: Session, actor: Actor, draft: Draft) -> DraftState | None:
    """What is kept beside the draft; None before its first change."""
    kept: dict[int, DraftState] = session.info.setdefault(STATES, {})
    if draft.id not in kept:
        rows = scoped(session, actor, DraftState).where(DraftState.draft_id == draft.id)
        found = session.scalars(rows).one_or_none()
        if found is None:
            return None
        kept[draft.id] = found
    return kept[draft.id]


def state_of(session: Session, actor: Actor, draft: Draft) -> DraftState:
    """The same, begun where there is none yet."""
    state = state_row(session, actor, draft)
    if state is None:
        state = DraftState(shop_id=actor.shop_id, draft_id=draft.id, told="[]", told_version=0)
        session.add(state)
        session.info[STATES][draft.id] = state
    return state


def reference_of(session: Session, actor: Actor, job: Job) -> Reference:
    """The job's reference as the engine takes it; an empty one where none is chosen."""
    kept = session.info.setdefault(REFERENCES, {})
    if job.reference_revision_id not in kept:
        revision = known(session, actor, ReferenceRevision, job.reference_revision_id)
        found = Reference() if revision is None else _engine_reference(revision.document)
        kept[job.reference_revision_id] = found
    reference: Reference = kept[job.reference_revision_id]
    return reference


@lru_cache(maxsize=32)
def _engine_reference(document: str) -> Reference:
    """A used revision never changes, so that it is read once."""
    return reference_to_engine(reference_from(json.loads(document)))


def _survey(session: Session, actor: Actor, job: Job, draft: Draft, points: Points) -> Survey:
    """The points as the engine takes them, with the instrument's figures where these are known."""
    sent = [one for _id, one in points]
    if not sent:
        return bare(sent, None)
    document = document_with(draft, sent)
    try:
        return to_engine(read_document(session, actor, job, document).survey)
    except BadInput:
        # What is still missing (an uncertainty, a heading) is told when the draft is submitted.
        return bare(sent, document.get("up"))


def bare(sent: Sequence[Mapping[str, Any]], up: object) -> Survey:
    """Points as the engine takes them, with nothing but what was sent of each."""

    def numbers(name: str) -> np.ndarray:
        return np.array([nan if one.get(name) is None else float(one[name]) for one in sent])

    return Survey(
        feature=tuple([str(one["feature"]) for one in sent]),
        label=tuple([one.get("label") for one in sent]),
        station=tuple([one.get("station") for one in sent]),
        turn=tuple([one.get("turn") for one in sent]),
        xyz=np.array([[one[axis] for axis in "xyz"] for one in sent]).reshape(-1, 3),
        u=numbers("u"),
        offset=numbers("offset"),
        up=(float(up[0]), float(up[1]), float(up[2])) if isinstance(up, list) else None,
    )


def _kept(one: Noticed, ids: Sequence[int]) -> dict[str, object]:
    return {
        "code": one.code,
        "feature": one.feature,
        "facts": dict(one.facts),
        "points": [ids[place] for place in one.points],
        "grave": one.grave,
    }


def told_of(text: str, steps: Mapping[int, str], found: DraftView) -> tuple[Told, ...]:
    """What is kept, in words. steps: the step of each point by its id."""
    standing = {point.id for point in found.standing}
    return tuple(
        _told(one, steps)
        for one in json.loads(text)
        # A point that was taken back meanwhile is nobody's trouble any more.
        if standing.issuperset(one["points"])
    )


_AT_STEP = {
    "axes_contradict": "mounting",
    "targets_close": "rig",
    "targets_stacked": "rig",
    "targets_opposite": "rig",
}
"""Where something without points belongs."""


def _told(one: Mapping[str, object], steps: Mapping[int, str]) -> Told:
    facts: dict[str, Fact] = {
        name: tuple(value) if isinstance(value, list) else value
        for name, value in dict(one["facts"]).items()  # type: ignore[call-overload]
    }
    code, feature = str(one["code"]), one["feature"]
    clauses = words.noticed(code, None if feature is None else str(feature), facts)
    points = tuple(int(place) for place in one["points"])  # type: ignore[attr-defined]
    homes = [steps[point] for point in points if point in steps]
    step = homes[-1] if homes else _AT_STEP.get(code)
    return Told(
        code=code,
        feature=None if feature is None else str(feature),
        facts=facts,
        met=clauses.met,
        needed=clauses.needed,
        do=clauses.action,
        points=points,
        sentence=clauses.sentence,
        step=step,
        grave=bool(one["grave"]),
        steps=tuple(dict.fromkeys(homes)) if homes else (step,) if step else (),
    )
