"""Where a job stands and what comes next, worked out from facts on record: nothing is typed in.

This is plain arithmetic on moments and codes: no session, so that the list of all jobs and the
page of one job cannot say different things.
"""

from dataclasses import dataclass
from datetime import datetime

from app.services.road_facts import Done, Facts, Measured

STATUSES = (
    "checked_in", "measuring", "measured", "correcting", "to_sign", "certified", "handed_over",
    "cancelled",
)  # fmt: skip

STEPS = (
    "check_in", "reference", "instrument", "visual_check", "measure_before", "correct",
    "measure_after", "sign", "hand_over",
)  # fmt: skip

ROLES = {
    "check_in": "desk",
    "reference": "technician",
    "instrument": "technician",
    "visual_check": "technician",
    "measure_before": "technician",
    "correct": "technician",
    "measure_after": "technician",
    "sign": "inspector",
    "hand_over": "desk",
}


@dataclass(frozen=True, slots=True)
class Step:
    """One station on the road of a job."""

    code: str
    """One of STEPS."""
    state: str
    """`done`, `next`, `open` (may be done, but something else is next), `not_needed`, `stopped`
    (needed, and not to be done before an inspector has decided, or in this shop at all)."""
    role: str
    """Who does it: `desk`, `technician`, `inspector`."""
    done_at: datetime | None
    done_by: str | None
    facts: tuple[tuple[str, str | int | float | None], ...] = ()
    """What to say beside it, such as (("finding", "outside"), ("survey", 1))."""


def status(facts: Facts) -> str:
    """The status of a job, one of STATUSES."""
    if facts.cancelled:
        return "cancelled"
    if facts.handed_over:
        return "handed_over"
    if facts.drafts:
        return "correcting" if facts.drafts[-1][0] == "during" else "measuring"
    if is_certified(facts):
        return "certified"
    if not facts.surveys:
        return "checked_in"
    if is_answered(facts) or is_outdated(facts):
        return "to_sign"
    if is_correcting(facts):
        return "correcting"
    if facts.sent_back:
        return "measured"
    if next_step(facts) == "hand_over":
        return "certified"
    return "to_sign" if is_to_sign(facts) else "measured"


def next_step(facts: Facts) -> str | None:
    """What comes next, one of STEPS; None when the job is closed and its machine has left."""
    if facts.closed:
        return "hand_over" if facts.still_here else None
    if facts.drafts:
        return _step_of_phase(facts.drafts[-1][0])
    if is_certified(facts):
        return "hand_over"
    if not facts.surveys:
        return _before_measuring(facts)
    if is_answered(facts) or is_outdated(facts):
        return "sign"
    if is_correcting(facts):
        return "measure_after"
    if facts.sent_back:
        return _step_of_phase(facts.surveys[-1].phase)
    return _after_survey(facts, facts.surveys[-1])


def _before_measuring(facts: Facts) -> str:
    if facts.reference is None:
        return "reference"
    if facts.instrument is None:
        return "instrument"
    return "visual_check" if facts.visual_check is None else "measure_before"


def _after_survey(facts: Facts, last: Measured) -> str:
    if is_of_the_old_frame(facts):
        return "measure_after"
    if is_reported(facts) and is_settled(facts):
        return "hand_over"
    if is_settled(facts):
        return "sign" if is_to_sign(facts) else "visual_check"
    if last.usable and last.finding == "outside":
        return "correct"
    return "reference" if facts.reference is None else _step_of_phase(last.phase)


def _step_of_phase(phase: str) -> str:
    return {"before": "measure_before", "during": "correct"}.get(phase, "measure_after")


def is_certified(facts: Facts) -> bool:
    """A certificate is in force that names the machine as it is on record, and nothing that it
    speaks of was done after it."""
    return facts.outdated is None and _nothing_done_since(facts)


def is_outdated(facts: Facts) -> bool:
    """The same, but the machine was put right after it: a new one takes its place."""
    return facts.outdated is not None and facts.sent_back is None and _nothing_done_since(facts)


def _nothing_done_since(facts: Facts) -> bool:
    if facts.certified is None:
        return False
    work = [
        *(survey.done.at for survey in facts.surveys),
        *(correction.at for correction in facts.corrections),
        *facts.hold_moments,
    ]
    return all(moment <= facts.certified.at for moment in work)


def is_answered(facts: Facts) -> bool:
    """An answer waits for the inspector who asked, whatever was found: nothing was sent back,
    measured, corrected or signed for after it, also where that was withdrawn since."""
    if facts.answered is None or facts.sent_back or facts.drafts or is_certified(facts):
        return False
    if facts.last_issued_at is not None and facts.last_issued_at >= facts.answered.at:
        return False
    work = [*(survey.done.at for survey in facts.surveys), *(one.at for one in facts.corrections)]
    return all(moment <= facts.answered.at for moment in work)


def is_correcting(facts: Facts) -> bool:
    """The machine was worked on, or measured during the work, since it was last judged."""
    if not facts.surveys:
        return False
    last = facts.surveys[-1]
    worked = any(correction.at > last.done.at for correction in facts.corrections)
    return worked or last.phase == "during"


def is_withdrawn(facts: Facts) -> bool:
    """A certificate was withdrawn, none is in force, and nothing was measured since."""
    if facts.withdrawn is None:
        return False
    return all(survey.done.at <= facts.withdrawn.at for survey in facts.surveys)


def is_reported(facts: Facts) -> bool:
    """A report of the last survey, which found something outside, is in force: nothing more is to
    be signed of that survey."""
    if facts.certified is None or facts.certified_as != "report" or not facts.surveys:
        return False
    last = facts.surveys[-1]
    return last.finding == "outside" and last.done.at <= facts.certified.at


def is_of_the_old_frame(facts: Facts) -> bool:
    """A hold on the frame was closed after the last survey, and none is open: the frame that was
    measured may be replaced by now. Where it may be straightened, that comes first."""
    if facts.frame_released_at is None or facts.frame_holds_open or not facts.surveys:
        return False
    last = facts.surveys[-1]
    straightened = last.usable and last.finding == "outside" and not stopped_by(facts)
    later = facts.frame_released_at > last.done.at
    return later and (is_reported(facts) or not straightened)


def is_to_sign(facts: Facts) -> bool:
    """The matter is settled, and the machine was also looked at: a certificate says both."""
    if is_reported(facts) or is_of_the_old_frame(facts):
        return False
    return is_settled(facts) and facts.visual_check is not None


def is_settled(facts: Facts) -> bool:
    """The last survey settles the matter, or nothing may be done about it in this shop."""
    if not facts.surveys or not facts.surveys[-1].usable or is_correcting(facts):
        return False
    last = facts.surveys[-1]
    return last.finding == "within" or (last.finding == "outside" and stopped_by(facts) != "")


def stopped_by(facts: Facts) -> str:
    """What stops the chassis from being straightened: a hold on the frame itself (`hold`), the
    reference (`forbidden`); empty where nothing does.

    A cracked wheel or fork yoke is replaced while the frame is straightened; its hold refuses the
    completion certificate and nothing before that.
    """
    if facts.frame_holds_open:
        return "hold"
    return "forbidden" if facts.straightening_forbidden else ""


def leaves_open(facts: Facts) -> bool:
    """Something is open of which whoever fetches the machine has to be told."""
    last = facts.surveys[-1] if facts.surveys else None
    return facts.holds_open > 0 or (last is not None and last.finding != "within")


def since(facts: Facts) -> datetime:
    """Since when the job waits for its next step: the moment of the last thing done."""
    single = (
        facts.received, facts.reference, facts.instrument, facts.visual_check, facts.certified,
        facts.cancelled, facts.handed_over, facts.answered,
    )  # fmt: skip
    moments = [done.at for done in single if done is not None]
    moments += [done.at for _, done in facts.drafts]
    moments += [survey.done.at for survey in facts.surveys]
    moments += [correction.at for correction in facts.corrections]
    moments += [one.at for one in (facts.sent_back, facts.outdated) if one]
    return max([*moments, *facts.hold_moments])


def measuring(facts: Facts) -> str | None:
    """Phase of the measurement that is being taken; None where none is. One that was open when the
    job was closed rests until the job is opened again."""
    return facts.drafts[-1][0] if facts.drafts and not facts.closed else None


def waits_for(facts: Facts) -> str | None:
    """The role that the job waits for; None when nothing is left to do."""
    step = next_step(facts)
    return None if step is None else ROLES[step]


def road(facts: Facts) -> tuple[Step, ...]:
    """All steps of a job, in order, with what is done and what is next."""
    following = next_step(facts)
    return tuple(_step(facts, code, following) for code in STEPS)


def _step(facts: Facts, code: str, following: str | None) -> Step:
    done = _done(facts, code)
    if code == following:
        state = "next"
    elif done is not None:
        state = "done"
    else:
        state = _undone(facts, code)
    at, by = (done.at, done.by) if done else (None, None)
    return Step(code, state, ROLES[code], at, by, _beside(facts, code))


def _done(facts: Facts, code: str) -> Done | None:
    single = {
        "check_in": facts.received,
        "reference": facts.reference,
        "instrument": facts.instrument,
        "visual_check": facts.visual_check,
        "sign": facts.certified if is_certified(facts) else None,
        "hand_over": facts.handed_over,
    }
    if code in single:
        return single[code]
    if code == "correct":
        during = [survey.done for survey in facts.surveys if survey.phase == "during"]
        return max([*facts.corrections, *during], key=lambda done: done.at, default=None)
    survey = _last_of_step(facts, code)
    return survey.done if survey and survey.usable else None


def _last_of_step(facts: Facts, code: str) -> Measured | None:
    phase = code.removeprefix("measure_")
    return next((one for one in reversed(facts.surveys) if one.phase == phase), None)


def _undone(facts: Facts, code: str) -> str:
    """Why a step that was not done is not next: a closed job needs nothing more, a machine found
    within no correction, and one that is bent and not to be straightened needs it and waits."""
    if facts.closed:
        return "not_needed"
    if code not in {"measure_before", "correct", "measure_after"}:
        return "open"
    if _is_stopped(facts, code):
        return "stopped"
    settled = is_settled(facts) or is_certified(facts) or is_outdated(facts)
    return "not_needed" if settled else "open"


def _is_stopped(facts: Facts, code: str) -> bool:
    bent = bool(facts.surveys) and facts.surveys[-1].finding == "outside"
    return code != "measure_before" and bent and is_settled(facts)


def _beside(facts: Facts, code: str) -> tuple[tuple[str, str | int | float | None], ...]:
    if code == "sign" and facts.holds_open:
        return (("holds_open", facts.holds_open),)
    if code == "correct" and not facts.closed and _is_stopped(facts, code):
        return (("stopped_by", stopped_by(facts)),)
    released = (("released", 1),) if _is_after_release(facts, code) else ()
    survey = _last_of_step(facts, code) if code.startswith("measure_") else None
    if survey is None:
        return released
    return (
        *released,
        ("survey", survey.number),
        ("finding", survey.finding),
        ("rig", survey.rig),
        ("orientation", survey.orientation),
    )


def _is_after_release(facts: Facts, code: str) -> bool:
    return code == "measure_after" and next_step(facts) == code and is_of_the_old_frame(facts)
