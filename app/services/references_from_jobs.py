"""References from machines whose measurements are on record: evaluated again, against one base."""

from sqlalchemy.orm import Session

from app.errors import Problem
from app.schemas.machine_reference import FromJobsIn, MachineReferenceOut, MeasurementIn
from app.schemas.problems import refused
from app.services import references, surveys
from app.services.lookup import job_row
from app.services.machine_references import Machine, from_machines
from app.services.permissions import Actor, require
from app.services.surveys import SurveyView


def from_jobs(session: Session, actor: Actor, sent: FromJobsIn) -> MachineReferenceOut:
    """A reference and its report from stored measurements; nothing is stored.

    Stored results were judged by different references; the measurements are therefore evaluated
    again, all against the same base. Raises NotFound, BadInput `machine_twice` and as
    `from_machines` does.
    """
    require(actor, "references.read")
    require(actor, "surveys.read")
    views = [surveys.read(session, actor, one.job, one.survey) for one in sent.measurements]
    _require_one_each(session, actor, sent.measurements)
    base = None
    if sent.base_reference_id is not None:
        base = references.read_revision(
            session, actor, sent.base_reference_id, sent.base_revision
        ).reference
    machines = [
        Machine(_name(view), view.survey, one.left_out_because)
        for view, one in zip(views, sent.measurements, strict=True)
    ]
    return from_machines(machines, base, sent.machine, sent)


def _name(view: SurveyView) -> str:
    return f"{view.job_number}/{view.number}"


def _require_one_each(
    session: Session, actor: Actor, measurements: tuple[MeasurementIn, ...]
) -> None:
    """No machine counts twice, however often it was in the shop."""
    met: dict[int, str] = {}
    problems = []
    for place, one in enumerate(measurements):
        if one.left_out_because is not None:
            continue
        name = f"{one.job}/{one.survey}"
        other = met.setdefault(job_row(session, actor, one.job).machine_id, name)
        if other != name:
            facts = {"met": name, "other": other}
            problems.append(Problem("machine_twice", f"measurements.{place}", facts))
    if problems:
        raise refused(problems)
