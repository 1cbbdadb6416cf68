"""The road of a job and its next step, in words and with the place to do it."""

from dataclasses import dataclass

from app.schemas.visual_check import FRAME_HOLD_ITEMS
from app.services.jobs import DraftLine, JobView
from app.services.permissions import Actor, Role, allowed_with_password
from app.services.road import Step
from app.web.pages.words import nameless, no_reason
from app.web.routes import ROUTES, path_to
from app.wording import checks, holding, labels, orders
from app.wording import jobs as words
from app.wording.leaving import leaves_with
from app.wording.moments import moment
from app.wording.translation import _
from app.wording.verdicts import finding

PLACES: dict[str, tuple[str, str]] = {
    "reference": ("choose_reference_form", ""),
    "instrument": ("choose_instrument_form", ""),
    "visual_check": ("visual_check_form", ""),
    "measure_before": ("measure_form", "before"),
    "correct": ("note_correction_form", ""),
    "measure_after": ("measure_form", "after"),
    "sign": ("sign_off_form", ""),
    "hand_over": ("hand_over_form", ""),
}
"""Where a step is done, and the phase that is measured there."""
BESIDE_HOLDS = ("correct", "measure_after", "sign")
"""Steps at which it is told that a hold is open."""
PHASES = {"measure_before": "before", "correct": "during", "measure_after": "after"}
"""What may be measured at a step."""


@dataclass(frozen=True, slots=True)
class StepLine:
    """One station as it is listed."""

    state: str
    state_word: str
    name: str
    detail: str
    href: str | None
    """Where it can be done or seen; None when there is nothing to go to."""


@dataclass(frozen=True, slots=True)
class NextStep:
    """What comes next, said to the person who looks."""

    name: str
    why: str
    button: str
    href: str | None
    """None when somebody else has to do it."""


def road_of(job: JobView, actor: Actor) -> tuple[StepLine, ...]:
    """All stations of the road."""
    states = {
        "done": _("done"),
        "next": _("next"),
        "open": _("to come"),
        "not_needed": _("not needed"),
        "stopped": _("stopped"),
    }
    return tuple(
        StepLine(
            state=step.state,
            state_word=states[step.state],
            name=words.step(step.code),
            detail=detail_of(step),
            href=place_of(job, step, actor),
        )
        for step in job.road
    )


def detail_of(step: Step) -> str:
    """When and by whom it was done, and what came of it."""
    facts = dict(step.facts)
    parts = []
    if isinstance(verdict := facts.get("finding"), str):
        parts.append(finding(verdict))
    if facts.get("rig") == "moved":
        parts.append(_("the set-up moved"))
    if facts.get("orientation") == "not_checked":
        parts.append(_("left and right not checked"))
    if isinstance(holds := facts.get("holds_open"), int):
        parts.append(holding.before_signing(holds))
    if isinstance(by := facts.get("stopped_by"), str):
        parts.append(holding.stopped(by))
    if step.done_at:
        told = _("submitted {moment}") if "survey" in facts else "{moment}"
        parts.append(told.format(moment=moment(step.done_at)))
    if step.done_by:
        parts.append(step.done_by)
    return " · ".join(parts)


def place_of(job: JobView, step: Step, actor: Actor) -> str | None:
    """Where the step is done; a measurement that was made leads to its finding."""
    survey = dict(step.facts).get("survey")
    if step.state == "done" and isinstance(survey, int):
        return path_to("finding", number=job.number, survey=survey)
    if step.state in ("done", "not_needed") or step.code not in PLACES:
        return None
    if job.closed and not (job.still_here and step.code == "hand_over"):
        return None
    return open_place(job, step.code, actor)


def open_place(job: JobView, code: str, actor: Actor) -> str | None:
    """The address at which the person may do the step; None when they may not."""
    name, phase = PLACES[code]
    if not allowed_with_password(actor, ROUTES[name].action):
        return None
    if draft := draft_of(job, code):
        return path_to("draft", number=job.number, draft=draft.id)
    query = {"phase": phase} if phase else None
    return path_to(name, query, number=job.number)


def next_of(job: JobView, actor: Actor) -> NextStep:
    """What to do next, and why it waits."""
    if job.next_step is None:
        return NextStep(_("Nothing is left to do"), closed_because(job), "", None)
    step = job.next_step
    if job.sent_back is not None and Role.TECHNICIAN not in actor.roles:
        why = _("It waits until it is measured again, or answered.")
        return NextStep(_("Sent back to the technician"), why, "", None)
    href = open_place(job, step.code, actor) if step.code in PLACES else None
    if draft := draft_of(job, step.code):
        why = unfinished(draft) if href else waits(step)
        return NextStep(_("Go on measuring"), why, _("Go on"), href)
    why = why_next(job, step) if href or tells_anybody(job, step) else waits(step)
    return NextStep(
        name=words.step(step.code)
        if href or step.code != "sign"
        else _("Next: the inspector signs"),
        why=" ".join(filter(None, [why, held(job, step)])),
        button=button_of(step.code, any(one.checked_at for one in job.visual_checks)),
        href=href,
    )


def next_for(job: JobView, actor: Actor, beside: NextStep | None) -> NextStep:
    """What is next for this person: on the road, else what they have to do beside it."""
    following = next_of(job, actor)
    return following if following.href or beside is None else beside


def draft_of(job: JobView, code: str) -> DraftLine | None:
    """The measurement that is being taken at this step, if one is."""
    found = (one for one in job.drafts if one.phase == PHASES.get(code))
    return next(found, None)


def unfinished(draft: DraftLine) -> str:
    """What stands open while a measurement is being taken."""
    told = _(
        "The measurement {phase} the correction is not finished. Go on with it, or discard it."
    ).format(phase=labels.phase(draft.phase))
    return f"{told} {paused(draft)}".strip()


def paused(draft: DraftLine) -> str:
    """Since when it rests; empty while it does not."""
    if draft.paused_at is None:
        return ""
    return _("Paused since {moment}.").format(moment=moment(draft.paused_at))


def left_unfinished(job: JobView) -> str:
    """What becomes of a measurement that was being taken as the job was closed; else empty."""
    if not (job.closed and job.drafts):
        return ""
    return _(
        "It was not finished when the job was closed. Its points stay on record, and none are "
        "added. Open the job again to go on with it or to discard it."
    )


def tells_anybody(job: JobView, step: Step) -> bool:
    """After a withdrawal all have to know what has to hold before it is signed again; and why a
    certificate that is in force does not do."""
    return step.code == "sign" and (job.withdrawn is not None or job.outdated is not None)


def waits(step: Step) -> str:
    """For whom the job waits."""
    return _("The job waits for the {role}.").format(role=words.role(step.role))


def held(job: JobView, step: Step) -> str:
    """What an open hold does to this step, and who closes it; empty where it does nothing."""
    if step.code not in BESIDE_HOLDS:
        return ""
    held_items = [hold.item for hold in job.holds if hold.closed_at is None]
    if FRAME_HOLD_ITEMS & set(held_items):
        return holding.frame_on_hold()
    return holding.beside([words.item(item) for item in held_items]) if held_items else ""


def why_next(job: JobView, step: Step) -> str:
    """One sentence on why this is next."""
    facts = dict(step.facts)
    if job.still_here:
        return " ".join([closed_because(job), _("The machine stands here until it is fetched.")])
    if job.answered is not None:
        return _("What the inspector asked is answered: sign, or send it back once more.")
    if job.sent_back is not None:
        return _("The inspector wants it measured again, or an answer.")
    if facts.get("rig") == "moved":
        return checks.rig("moved", "none", None)
    if facts.get("orientation") == "not_checked":
        return checks.orientation("not_checked")
    if "released" in facts:
        return _(
            "A hold on the frame was closed after the last measurement: only a new one tells how "
            "the chassis stands now."
        )
    if step.code == "hand_over" and (told := leaving(job)):
        return " ".join(told)
    if step.code == "correct" and job.authorised_at is None:
        return _(
            "Something is outside its tolerance, and the order is not signed yet: the desk still "
            "has to get it signed before anything is corrected."
        )
    if step.code == "correct" and orders.scope_code(job.authorised_scope or "") == "measure":
        return _(
            "Something is outside its tolerance, and measuring alone is ordered: the customer's "
            "word is needed before anything is corrected."
        )
    sentences = {
        "reference": _("Every verdict is given against one revision of a reference."),
        "instrument": _("The instrument's calibration is part of every uncertainty."),
        "visual_check": _("Cracks and wrinkles mean replacement, whatever the geometry says."),
        "measure_before": _("The finding before any correction is what the claim rests on."),
        "correct": _("Something is outside its tolerance: note each correction that is made."),
        "measure_after": _("Only a new measurement shows what the correction did."),
        "sign": sign_because(job),
        "hand_over": _("The certificate is issued; the machine can go."),
    }
    return sentences.get(step.code, "")


def sign_because(job: JobView) -> str:
    """Why it is to be signed; after a withdrawal what has to hold before it is signed again."""
    if job.outdated is not None:
        return _(
            "The machine's details were put right after {number} was issued; an inspector issues "
            "a new certificate in its place."
        ).format(number=job.outdated.number)
    if job.withdrawn is None:
        return _("The measurement settles the matter; an inspector signs.")
    return _(
        "A certificate was withdrawn. An inspector signs again only if the measurement itself "
        "holds; else it is sent back to be measured again."
    )


def leaving(job: JobView) -> tuple[str, ...]:
    """What must be said when the machine goes as it stands."""
    return leaves_with(*open_as_it_leaves(job))


def open_as_it_leaves(job: JobView) -> tuple[str | None, int]:
    """The last finding that stands, None: nothing was measured; and how many holds are open."""
    standing = [survey for survey in job.surveys if survey.superseded_by is None]
    verdict = standing[-1].finding if standing else None
    return verdict, sum(hold.closed_at is None for hold in job.holds)


def button_of(code: str, looked: bool = False) -> str:
    """The words on the one large button; `looked`: some of the visual check is answered."""
    buttons = {
        "reference": _("Choose the reference"),
        "instrument": _("Choose the instrument"),
        "visual_check": _("Go on with the visual check") if looked else _("Start the visual check"),
        "measure_before": _("Measure"),
        "correct": _("Note a correction"),
        "measure_after": _("Measure again"),
        "sign": _("Go to sign-off"),
        "hand_over": _("Hand over"),
    }
    return buttons.get(code, words.step(code))


def closed_because(job: JobView) -> str:
    """How the job ended; of a cancelled one also that its machine was given back."""
    left = (
        _("Given back on {moment} to {name}.")
        if job.cancelled_at
        else _("Handed over on {moment} to {name}.")
    )
    parts = []
    if job.cancelled_at:
        told = _("Cancelled on {moment}: {reason}").format(
            moment=moment(job.cancelled_at),
            reason=job.cancelled_reason or no_reason(job.customer.erased_at),
        )
        parts.append(told if told.endswith((".", "!", "?")) else f"{told}.")
    if job.handed_over_at:
        gone = nameless() if job.customer.erased_at else _("not stated")
        name = job.handed_over_to or gone
        parts.append(left.format(moment=moment(job.handed_over_at), name=name))
    return " ".join(parts)
