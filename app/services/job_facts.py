"""What is on record of many jobs at once, in a fixed number of queries, for `road`."""

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, TypeVar

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.tables import (
    Certificate,
    CorrectionNote,
    Draft,
    Hold,
    Job,
    JobEntry,
    JobNote,
    ReferenceRevision,
    Result,
    Survey,
    VisualCheckItem,
)
from app.schemas.visual_check import FRAME_HOLD_ITEMS, ITEMS
from app.services.corrections import chains
from app.services.lookup import CANCELLED, CLOSING, GIVEN_BACK, HANDED_OVER, REOPENED, names
from app.services.permissions import Actor
from app.services.put_right import MACHINE_PUT_RIGHT, change_of, differences
from app.services.road_facts import (
    Answered,
    Call,
    Done,
    Facts,
    Measured,
    Outdated,
    SentBack,
    Withdrawn,
)

Row = TypeVar("Row", bound=Any)
People = Mapping[int | None, str]

REFERENCE_FIXED = "reference_fixed"
INSTRUMENT_CHOSEN = "instrument_chosen"
SENT_BACK = "sent_back"
ANSWERED = "answered"


def facts_of(session: Session, actor: Actor, jobs: Sequence[Job]) -> dict[int, Facts]:
    """The facts of these jobs, by the jobs' ids."""
    return _Gathered(session, actor, jobs).facts()


def standing_surveys(surveys: Sequence[Survey]) -> list[Survey]:
    """Those whose place no other has taken, in the order of submission."""
    superseded = {survey.supersedes_id for survey in surveys}
    return [survey for survey in surveys if survey.id not in superseded]


class _Gathered:
    """All rows that the facts of some jobs rest on, each table read once."""

    def __init__(self, session: Session, actor: Actor, jobs: Sequence[Job]) -> None:
        self._session, self._actor, self._jobs = session, actor, jobs
        self._entries = self._of_jobs(JobEntry)
        self._notes = self._of_jobs(JobNote)
        self._drafts = self._of_jobs(Draft)
        self._surveys = self._of_jobs(Survey)
        self._corrections = self._of_jobs(CorrectionNote)
        self._holds = self._of_jobs(Hold)
        self._checks = self._of_jobs(VisualCheckItem)
        self._certificates = self._of_jobs(Certificate)
        self._results = self._latest_results()
        self._forbidden = self._straightening_forbidden()
        self._people = self._called()

    def facts(self) -> dict[int, Facts]:
        return {job.id: self._facts(job) for job in self._jobs}

    def _of_jobs(self, model: type[Row]) -> dict[int, list[Row]]:
        wanted = [job.id for job in self._jobs]
        rows = scoped(self._session, self._actor, model).where(model.job_id.in_(wanted))
        found: dict[int, list[Row]] = defaultdict(list)
        for row in self._session.scalars(rows.order_by(model.id)):
            found[row.job_id].append(row)
        return found

    def _latest_results(self) -> dict[int, Result]:
        surveys = [survey.id for rows in self._surveys.values() for survey in rows]
        rows = scoped(self._session, self._actor, Result).where(Result.survey_id.in_(surveys))
        return {row.survey_id: row for row in self._session.scalars(rows.order_by(Result.id))}

    def _straightening_forbidden(self) -> set[int]:
        wanted = {job.reference_revision_id for job in self._jobs}
        rows = scoped(self._session, self._actor, ReferenceRevision).where(
            ReferenceRevision.id.in_(wanted)
        )
        return {row.id for row in self._session.scalars(rows) if _is_forbidden(row)}

    def _called(self) -> People:
        people: list[int | None] = [job.checked_in_by_id for job in self._jobs]
        people += [row.person_id for row in _all(self._entries)]
        people += [row.person_id for row in _all(self._corrections)]
        people += [row.person_id for row in _all(self._checks)]
        people += [row.submitted_by_id for row in _all(self._surveys)]
        people += [row.opened_by_id for row in _all(self._drafts)]
        people += [row.signed_by_id for row in _all(self._certificates)]
        people += [row.ended_by_id for row in _all(self._certificates)]
        return names(self._session, self._actor, people)

    def _facts(self, job: Job) -> Facts:
        closed = self._closed(job)
        left = closed.get(HANDED_OVER) or closed.get(GIVEN_BACK)
        holds = self._holds[job.id]
        return Facts(
            received=Done(job.received_at, self._people.get(job.checked_in_by_id)),
            reference=self._chosen(job, job.reference_revision_id, REFERENCE_FIXED),
            instrument=self._chosen(job, job.instrument_id, INSTRUMENT_CHOSEN),
            visual_check=self._visual_check(job),
            drafts=self._open_drafts(job),
            surveys=self._measured(job),
            corrections=tuple(
                Done(first.at, self._people.get(first.person_id))
                for first, _last in chains(self._corrections[job.id])
            ),
            hold_moments=tuple(
                moment for row in holds for moment in (row.opened_at, row.closed_at) if moment
            ),
            holds_open=sum(row.closed_at is None for row in holds),
            frame_holds_open=sum(
                row.closed_at is None and row.reason in FRAME_HOLD_ITEMS for row in holds
            ),
            certified=self._certified(job),
            certified_as=next((row.kind for row in self._in_force(job)), ""),
            outdated=self._outdated(job),
            withdrawn=self._withdrawn(job),
            frame_released_at=self._frame_released_at(job),
            last_issued_at=max(
                (row.issued_at for row in self._certificates[job.id] if row.issued_at), default=None
            ),
            straightening_forbidden=job.reference_revision_id in self._forbidden,
            cancelled=self._done(closed.get(CANCELLED)),
            handed_over=self._done(left),
            still_here=CANCELLED in closed and left is None and bool(closed[CANCELLED].still_here),
            promised_on=job.promised_on,
            calls=self._calls(job),
            sent_back=self._sent_back(job),
            answered=self._answered(job),
        )

    def _calls(self, job: Job) -> tuple[Call, ...]:
        """Calls that were made or asked for, without those that were noted by mistake."""
        taken_back = {row.takes_back_id for row in self._notes[job.id]}
        return tuple(
            Call(row.whom, row.at, row.outcome, row.words)
            for row in self._notes[job.id]
            if row.whom and row.id not in taken_back
        )

    def _closed(self, job: Job) -> dict[str, JobEntry]:
        """The closing entries by their kind, since the job was opened or opened again."""
        rows = [row for row in self._entries[job.id] if row.kind in CLOSING]
        standing: dict[str, JobEntry] = {}
        for row in rows:
            standing = {} if row.kind == REOPENED else {**standing, row.kind: row}
        return standing

    def _done(self, row: JobEntry | None) -> Done | None:
        return None if row is None else Done(row.at, self._people.get(row.person_id))

    def _chosen(self, job: Job, chosen: int | None, kind: str) -> Done | None:
        if chosen is None:
            return None
        rows = [row for row in self._entries[job.id] if row.kind == kind]
        return Done(rows[-1].at, self._people.get(rows[-1].person_id)) if rows else None

    def _sent_back(self, job: Job) -> SentBack | None:
        """The newest sending back, unless it was answered or a survey was submitted since."""
        rows = [row for row in self._entries[job.id] if row.kind in (SENT_BACK, ANSWERED)]
        if not rows or rows[-1].kind == ANSWERED:
            return None
        newest = rows[-1]
        if any(survey.submitted_at > newest.at for survey in self._surveys[job.id]):
            return None
        return SentBack(newest.at, self._people.get(newest.person_id), newest.words)

    def _answered(self, job: Job) -> Answered | None:
        rows = [row for row in self._entries[job.id] if row.kind == ANSWERED]
        if not rows:
            return None
        newest = rows[-1]
        return Answered(newest.at, self._people.get(newest.person_id), newest.words)

    def _visual_check(self, job: Job) -> Done | None:
        latest = {row.item: row for row in self._checks[job.id]}
        if not latest.keys() >= set(ITEMS):
            return None
        last = max(latest.values(), key=lambda row: row.id)
        return Done(last.at, self._people.get(last.person_id))

    def _open_drafts(self, job: Job) -> tuple[tuple[str, Done], ...]:
        rows = [row for row in self._drafts[job.id] if row.closed_at is None]
        return tuple(
            (row.phase, Done(row.opened_at, self._people.get(row.opened_by_id))) for row in rows
        )

    def _measured(self, job: Job) -> tuple[Measured, ...]:
        rows = standing_surveys(self._surveys[job.id])
        return tuple(self._survey(row, self._results[row.id]) for row in rows)

    def _survey(self, row: Survey, result: Result) -> Measured:
        return Measured(
            number=row.ordinal,
            phase=row.phase,
            done=Done(row.submitted_at, self._people.get(row.submitted_by_id)),
            finding=result.verdict,
            rig=result.rig_verdict,
            orientation=result.orientation,
        )

    def _certified(self, job: Job) -> Done | None:
        for row in self._in_force(job):
            if row.issued_at is not None:
                return Done(row.issued_at, self._people.get(row.signed_by_id))
        return None

    def _in_force(self, job: Job) -> list[Certificate]:
        """Those in force, the newest first."""
        rows = self._certificates[job.id]
        return [row for row in reversed(rows) if row.status == "valid" and row.issued_at]

    def _outdated(self, job: Job) -> Outdated | None:
        found = [
            change_of(row, self._people)
            for row in self._entries[job.id]
            if row.kind == MACHINE_PUT_RIGHT
        ]
        newest = next(iter(self._in_force(job)), None)
        if newest is None or not (left := differences(found, newest.issued_at)):
            return None
        return Outdated(newest.number, found[-1].at, found[-1].by, left)

    def _withdrawn(self, job: Job) -> Withdrawn | None:
        rows = self._certificates[job.id]
        ended = [
            Withdrawn(row.number, row.ended_at, self._people.get(row.ended_by_id), row.reason or "")
            for row in rows
            if row.status == "withdrawn" and row.ended_at is not None
        ]
        return None if self._in_force(job) else max(ended, key=lambda one: one.at, default=None)

    def _frame_released_at(self, job: Job) -> datetime | None:
        latest = {row.item: row for row in self._checks[job.id]}
        none_there = {item for item, row in latest.items() if row.since_seen == "no_damage"}
        closed = (
            row.closed_at
            for row in self._holds[job.id]
            if row.reason in FRAME_HOLD_ITEMS and row.reason not in none_there and row.closed_at
        )
        return max(closed, default=None)


def _all(rows: Mapping[int, list[Row]]) -> Iterable[Row]:
    return (row for group in rows.values() for row in group)


def _is_forbidden(row: ReferenceRevision) -> bool:
    repair = json.loads(row.document).get("repair") or {}
    return repair.get("straightening") == "forbidden"
