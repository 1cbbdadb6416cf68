"""What was looked for on the machine, when and by whom, as a certificate tells it."""

from collections.abc import Collection, Sequence
from datetime import datetime

from app.documents.content import Line as Fact
from app.documents.content import VisualCheck
from app.schemas.visual_check import HOLD_ITEMS
from app.services.certificate_disagreements import (
    damaged_but_not_seen,
    disagreement,
    looked_at_before_correction,
    not_repeated,
)
from app.services.jobs import JobView
from app.services.visual_check_views import VisualCheckView
from app.services.visual_checks import HoldView
from app.wording import jobs, moments
from app.wording import visual_check as words
from app.wording.enumeration import listed
from app.wording.translation import _, counted

MOST_PEOPLE, MOST_SEEN = 2, 3
"""What the one line of the first page names; the evidence pages name all."""


def visual_check(job: JobView) -> VisualCheck:
    """What was looked for, by answer, who looked, and the holds that came of it."""
    by_answer: dict[str, list[Fact]] = {"seen": [], "not_seen": [], "not_checked": []}
    for check in job.visual_checks:
        noted = ", ".join(part for part in (check.place, check.note, earlier(check)) if part)
        by_answer[check.answer].append(Fact(jobs.item(check.item), noted))
    return VisualCheck(
        seen=tuple(by_answer["seen"]),
        not_seen=tuple(with_note(one) for one in by_answer["not_seen"]),
        not_checked=tuple(with_note(one) for one in by_answer["not_checked"]),
        holds=tuple(Fact(jobs.item(hold.item), hold_words(hold)) for hold in job.holds),
        looked=" ".join(
            filter(None, [looked(job.visual_checks), not_repeated(job), disagreement(job)])
        ),
        in_brief=in_brief(
            job.visual_checks,
            looked_at_before_correction(job),
            damaged_but_not_seen(job),
            held_items(job),
        ),
    )


def earlier(check: VisualCheckView) -> str:
    """When an item that is answered otherwise now was seen, and what was done since; else empty."""
    before = check.seen_before
    if before is None:
        return ""
    seen = words.seen_before(
        before.place, before.note, moments.day(before.at) if before.at else "", before.by
    )
    done = words.done_since(before.since_seen, before.since_words)
    return f"{seen}; {done}"


def with_note(fact: Fact) -> str:
    """An item with its note behind it."""
    return f"{fact.label} ({fact.value})" if fact.value else fact.label


def hold_words(hold: HoldView) -> str:
    """What became of a hold."""
    opened = _("opened on {day}").format(day=moments.day(hold.opened_at))
    if hold.closed_at is None:
        return _("{opened}, still open").format(opened=opened)
    return closed(_("{opened}, closed on {day} by {name}: {reason}"), opened, hold, hold.closed_at)


def closed_since(hold: HoldView, signed_at: datetime) -> str:
    """What became of a hold after a certificate was signed under it; empty where nothing did."""
    if hold.closed_at is None or hold.closed_at <= signed_at:
        return ""
    told = _(
        "{opened}, open when this certificate was signed; closed since, on {day} by {name}: "
        "{reason}"
    )
    opened = _("opened on {day}").format(day=moments.day(hold.opened_at))
    return closed(told, opened, hold, hold.closed_at)


def closed(told: str, opened: str, hold: HoldView, at: datetime) -> str:
    """When a hold was closed, by whom and why."""
    return told.format(
        opened=opened,
        day=moments.day(at),
        name=hold.closed_by or _("the shop"),
        reason=hold.closed_reason or "",
    )


def looked_at(checks: Sequence[VisualCheckView]) -> list[tuple[datetime, str, bool]]:
    """Of each item that somebody looked at: when, who, and whether it was seen."""
    return [
        (check.checked_at, check.checked_by or _("the shop"), check.answer == "seen")
        for check in checks
        if check.answer != "not_checked" and check.checked_at is not None
    ]


def looked(checks: Sequence[VisualCheckView]) -> str:
    """Who looked at how many items, and when each answered last."""
    by_name: dict[str, list[datetime]] = {}
    for at, name, _seen in looked_at(checks):
        by_name.setdefault(name, []).append(at)
    if not by_name:
        return _("Nobody has looked at any of these items.")
    told = "; ".join(
        _("{name}, {items}, last answer on {moment}").format(
            name=name, items=items(len(times)), moment=moments.moment_with_zone(max(times))
        )
        for name, times in by_name.items()
    )
    return _("Looked at by {people}.").format(people=told)


def in_brief(
    checks: Sequence[VisualCheckView],
    before_correction: Collection[str] = (),
    damaged: Sequence[str] = (),
    held: Sequence[str] = (),
) -> str:
    """The same in one line: the day, who, how many items, and what was seen of them.

    before_correction: items that nobody looked at again after a correction; damaged: zones whose
    damage was noted at check-in and not seen; held: items whose place is told with their hold.
    """
    found = looked_at(checks)
    if not found:
        return _("Visual check: none of the {count} items was looked at.").format(count=len(checks))
    never_again = len(before_correction) == len(found)
    text = _("Visual check {days} by {names}:")
    if never_again:
        text = _("Visual check {days} by {names}, before the correction and not repeated:")
    told = [
        text.format(
            days=days([at for at, _name, _seen in found]),
            names=listed(list(dict.fromkeys(name for _at, name, _seen in found)), MOST_PEOPLE),
        ),
        outcome(checks, len(found), held),
    ]
    if before_correction and not never_again:
        again = _("{count} of these were looked at before the correction and not again.")
        told.append(again.format(count=len(before_correction)))
    if damaged:
        noted = _("Noted damaged at check-in all the same: {zones}.")
        told.append(noted.format(zones=listed(damaged, MOST_SEEN)))
    return " ".join([*told, *no_longer(checks), *left_out(checks)])


def days(times: Sequence[datetime]) -> str:
    """The day of all answers, or the first and the last of their days."""
    first, last = moments.day(min(times)), moments.day(max(times))
    if first == last:
        return _("on {day}").format(day=first)
    return _("from {first} to {last}").format(first=first, last=last)


def outcome(checks: Sequence[VisualCheckView], count: int, held: Sequence[str] = ()) -> str:
    """What was seen of so many items, and where, unless that is told with the hold on it."""
    seen = [
        with_place(jobs.item(check.item), "" if check.item in held else place_of(check))
        for check in checks
        if check.answer == "seen"
    ]
    if not seen:
        if any(check.seen_before for check in checks):
            return _("{kinds} of damage looked for, none seen now.").format(kinds=kinds(count))
        return _("{kinds} of damage looked for, none seen.").format(kinds=kinds(count))
    told = _("{seen} of {count} seen: {names}.")
    return told.format(seen=len(seen), count=count, names=listed(seen, MOST_SEEN))


def held_items(job: JobView) -> list[str]:
    """The items with a hold that nobody has closed."""
    return [hold.item for hold in job.holds if hold.closed_at is None]


def means_replacement(job: JobView) -> list[str]:
    """The items on record that mean replacement, not straightening: held, seen, or seen before and
    neither replaced nor found to be none."""
    on_record = {one.item for one in job.visual_checks if is_on_record(one)}
    return sorted(HOLD_ITEMS & {*held_items(job), *on_record})


def is_on_record(check: VisualCheckView) -> bool:
    """Whether it is seen, or was seen before and its part is still the same."""
    before = check.seen_before
    settled = {"replaced", "no_damage"}
    return check.answer == "seen" or (before is not None and before.since_seen not in settled)


def place_of(check: VisualCheckView | None) -> str:
    """Where on the machine it was seen, now or the last time; empty where nobody told."""
    if check is None:
        return ""
    seen = check if check.answer == "seen" else check.seen_before
    return (seen.place if seen else None) or ""


def with_place(name: str, place: str) -> str:
    """What was seen, with its place behind it."""
    return f"{name} ({place})" if place else name


def no_longer(checks: Sequence[VisualCheckView]) -> list[str]:
    """What was seen before and is answered otherwise now; nothing where there is none."""
    names = [
        f"{jobs.item(check.item)} ({words.since(check.seen_before.since_seen)})"
        for check in checks
        if check.seen_before is not None
    ]
    return [_("Seen before: {names}.").format(names=listed(names, MOST_SEEN))] if names else []


def left_out(checks: Sequence[VisualCheckView]) -> list[str]:
    """How many items nobody looked at; nothing where there is none."""
    count = sum(check.answer == "not_checked" for check in checks)
    return [_("{count} not checked.").format(count=count)] if count else []


def kinds(count: int) -> str:
    """So many kinds, in words."""
    return counted("{count} kind", "{count} kinds", count).format(count=count)


def items(count: int) -> str:
    """So many items, in words."""
    return counted("{count} item", "{count} items", count).format(count=count)
