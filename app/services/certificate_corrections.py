"""What was done to the machine, as a certificate tells it."""

from datetime import datetime

from app.documents.content import Correction
from app.schemas.correction import BY_FORCE_OR_HEAT, OF_THE_FRAME
from app.services.certificate_case import Case
from app.services.jobs import CorrectionView
from app.services.surveys import SurveyView
from app.wording import corrections as words
from app.wording import moments
from app.wording.translation import _, counted


def correction_lines(case: Case) -> tuple[Correction, ...]:
    """The corrections that stand, in the order in which they were noted."""
    return tuple(
        Correction(
            when=when(one),
            part=words.part(one.part or ""),
            method=words.method(one.method or ""),
            words=one.text,
            who=who(one),
            instruction=instruction(one),
        )
        for one in case.job.corrections
    )


def when(one: CorrectionView) -> str:
    """The day of the work; where none was told, the moment when it was noted."""
    if one.done_on is not None:
        return moments.day(one.done_on)
    return _("noted on {moment}").format(moment=moments.moment_with_zone(one.done_at))


def who(one: CorrectionView) -> str:
    """Who did it, or that this is not recorded, and who noted it: the one need not be the other."""
    noted = _("noted by {name}").format(name=one.by) if one.by else ""
    did = one.done_by or _("who did it is not recorded")
    return "; ".join(part for part in (did, noted) if part)


def instruction(one: CorrectionView) -> str:
    """The maker's instruction that was followed, or that none was named."""
    if one.instruction:
        return _("Maker's instruction followed: {words}").format(words=one.instruction)
    return _("Maker's instruction: none named.")


def follows(one: CorrectionView, moment: datetime) -> bool:
    """Whether the work was done after a moment; by its day where that was told and differs."""
    day = moments.today(moment)
    if one.done_on is not None and one.done_on != day:
        return one.done_on > day
    return one.done_at > moment


def correction_caution(case: Case) -> str:
    """What must be known of the methods of force and heat among them, each said once."""
    methods = [one.method or "" for one in case.job.corrections]
    known = max((words.caution(method) for method in methods), key=len, default="")
    if not straightened_though_forbidden(case):
        return known
    forbidden = _("The reference says that the maker forbids straightening this frame.")
    return f"{forbidden} {known}"


def straightened_though_forbidden(case: Case) -> bool:
    """Whether force or heat went to a frame that its reference says must not be straightened."""
    if case.reference is None:
        return False
    forbidden = case.reference.reference.repair.straightening == "forbidden"
    return forbidden and any(
        one.method in BY_FORCE_OR_HEAT and (one.part is None or one.part in OF_THE_FRAME)
        for one in case.job.corrections
    )


def correction_words(case: Case, survey: SurveyView) -> str:
    """How many there are, and whether the results speak of all of them."""
    noted = case.job.corrections
    if not noted:
        if case.before is not None:
            return _("None was noted between the two measurements.")
        return _("None was noted.")
    since = [one for one in noted if one.done_at > survey.submitted_at]
    if len(since) == len(noted):
        return _("All of these were noted after the measurement: the results are from before them.")
    if since:
        text = counted(
            "{count} of these was noted after the measurement: the results are from before it.",
            "{count} of these were noted after the measurement: the results are from before them.",
            len(since),
        )
        return text.format(count=len(since))
    return _("All of these were noted before the measurement that the results come from.")


def corrections_in_brief(case: Case) -> str:
    """How many corrections there are, in a few words of the first page."""
    count = len(case.job.corrections)
    if not count:
        return _("none noted")
    text = counted(
        "{count} noted, listed under “Corrections made”",
        "{count} noted, listed under “Corrections made”",
        count,
    )
    return text.format(count=count)
