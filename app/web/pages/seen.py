"""What the visual check saw, beside a finding and on the page of a job: before, and now."""

from datetime import datetime

from app.services.jobs import JobView
from app.services.visual_check_views import VisualCheckView, beside
from app.web.pages.words import Fact
from app.wording import before_signing, plainly
from app.wording import visual_check as words
from app.wording.moments import day, moment
from app.wording.translation import _


def seen_of(found: JobView) -> tuple[Fact, ...]:
    """What is seen by the answers that stand."""
    return tuple(
        Fact(
            words.with_place(check.item, None),
            ", ".join(filter(None, [check.place, check.note])) or _("seen"),
        )
        for check in found.visual_checks
        if check.answer == "seen"
    )


def seen_before_of(found: JobView) -> tuple[Fact, ...]:
    """What was seen before and is answered otherwise now, with what was done."""
    return tuple(
        Fact(words.with_place(check.item, check.seen_before.place), " · ".join(history_of(check)))
        for check in found.visual_checks
        if check.seen_before is not None
    )


def history_of(check: VisualCheckView) -> tuple[str, ...]:
    """When it was seen, what was done since, what is seen now; nothing where it never was seen."""
    before = check.seen_before
    if before is None:
        return ()
    done = words.done_since(before.since_seen, before.since_words)
    return (
        words.seen(moment(before.at) if before.at else "", before.by, before.note),
        done[:1].upper() + done[1:],
        words.now(
            check.answer, moment(check.checked_at) if check.checked_at else "", check.checked_by
        ),
    )


def since_on_hold(found: JobView, item: str) -> str:
    """What is answered by now of an item that is on hold; empty where it is seen as before."""
    check = next((one for one in found.visual_checks if one.item == item), None)
    return " · ".join(history_of(check)[1:]) if check else ""


def seen_besides(found: JobView, verdict: str) -> str:
    """What is seen now, in a sentence beside a finding; empty where nothing is."""
    seen = [one for one in found.visual_checks if one.answer == "seen"]
    return plainly.seen_besides(verdict, [words.with_place(one.item, one.place) for one in seen])


def seen_with(found: JobView, verdict: str, submitted_at: datetime) -> str:
    """What was seen when a measurement was submitted, before the next, or now, in a sentence."""
    later = [line.submitted_at for line in found.surveys if line.submitted_at > submitted_at]
    seen = beside(found.visual_answers, submitted_at, min(later, default=None)).seen
    return plainly.seen_besides(verdict, [words.with_place(one.item, one.place) for one in seen])


def not_looked_at(found: JobView) -> str:
    """Which items of the visual check nobody has looked at, in a sentence; empty where all were."""
    left = [one.item for one in found.visual_checks if one.answer == "not_checked"]
    if left and len(left) == len(found.visual_checks):
        return _("The visual check was not made yet.")
    return before_signing.not_checked(left)


def settled_since(found: JobView, submitted_at: datetime) -> str:
    """What was seen before or then, and was replaced, repaired or no damage, in a sentence."""
    settled = beside(found.visual_answers, submitted_at).settled
    return words.settled(
        [
            (
                words.with_place(one.item, one.seen_before.place),
                one.seen_before.since_seen,
                day(one.seen_before.since_at) if one.seen_before.since_at else "",
            )
            for one in settled
            if one.seen_before is not None
        ]
    )
