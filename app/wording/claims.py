"""What a claim says to somebody who never heard of a tolerance: before, now, and who looked."""

from collections.abc import Sequence

from app.wording import plainly
from app.wording.jobs import certificate_status
from app.wording.sections import section_of
from app.wording.translation import _, counted, later
from app.wording.verification import in_force

USES: dict[str, str] = {
    "viewed": later("the page"),
    "listed": later("the list of claims"),
    "photo": later("a photo"),
    "downloaded": later("the certificate (PDF)"),
    "data": later("the data (JSON)"),
    "bundle": later("everything in one file"),
    "refused": later("refused"),
}
"""What was fetched by a link, by the code of the log."""


def use(code: str) -> str:
    """Return what was fetched."""
    return _(USES.get(code, code))


def before(found: Sequence[tuple[str, str]]) -> str:
    """Return how it stood before the correction; `found`: key and verdict of what was measured
    then and rests on a limit. Empty without any."""
    parts = parts_of(found)
    if parts.outside:
        return counted(
            "Before the correction one part was not where it should be: {parts}.",
            "Before the correction {count} parts were not where they should be: {parts}.",
            len(parts.outside),
        ).format(count=len(parts.outside), parts=plainly.joined(parts.outside))
    if parts.undecided:
        return _("Before the correction the measurement was not sure enough about {parts}.").format(
            parts=plainly.joined(parts.undecided)
        )
    if parts.within:
        return _("Before as well, all that was measured was where it should be: {parts}.").format(
            parts=plainly.joined(parts.within)
        )
    return ""


def now(verdict: str, found: Sequence[tuple[str, str]], *, missing: bool) -> str:
    """Return how it stands now; `verdict` is the overall finding, `missing` that something
    required was not measured."""
    return plainly.finding(verdict, parts_of(found), moved=False, missing=missing)


def then(verdict: str, found: Sequence[tuple[str, str]]) -> str:
    """Return what a certificate had found that counts no more, as a thing of the past."""
    parts = parts_of(found)
    if verdict == "within":
        told = _("All that had to be measured was where it should be: {parts}.")
        return told.format(parts=plainly.joined(parts.within))
    if parts.outside:
        return counted(
            "One part was not where it should be: {parts}.",
            "{count} parts were not where they should be: {parts}.",
            len(parts.outside),
        ).format(count=len(parts.outside), parts=plainly.joined(parts.outside))
    return _("It could not be said.")


def measured_once() -> str:
    """Return what stands in place of a before where there is none."""
    return _("It was measured once, so there is no before to compare it with.")


def corrected(part: str, method: str, words: str, when: str) -> str:
    """Return what was done to the machine, in one line; all but `when` may be empty."""
    what = ": ".join(filter(None, [part, method]))
    if not what:
        return _("{words}, {when}").format(words=words, when=when)
    told = f"{what} ({words})" if words else what
    return _("{what}, {when}").format(what=told, when=when)


def parts_of(found: Sequence[tuple[str, str]]) -> plainly.Parts:
    """The sections by their worst finding, of what has a limit."""
    return plainly.parts_of([(section_of(key), verdict) for key, verdict in found])


def counts_now(valid: Sequence[tuple[str, str]]) -> str:
    """Return which certificates of a job are in force; `valid`: number and kind of each."""
    if not valid:
        return _("No certificate of this job is in force now.")
    named = [_("{number} ({kind})").format(number=number, kind=kind) for number, kind in valid]
    return counted("Only {named} counts now.", "What counts now: {named}.", len(named)).format(
        named=", ".join(named)
    )


def took_its_place(number: str, follower: str, since: str, reason: str) -> str:
    """Return which certificate a correcting one replaced, when, and why where that was said."""
    said = _("{follower} took the place of {number} on {since}").format(
        follower=follower, number=number, since=since
    )
    return f"{said}: {reason.rstrip('.')}." if reason else f"{said}."


def standing(status: str, replaced_by: str | None, since: str) -> str:
    """Return whether a certificate is in force, to who holds the link to it."""
    if status == "valid":
        return _("In force, since {since}.").format(since=since)
    if status == "distrusted":
        return in_force(status)
    if status == "superseded" and replaced_by:
        return _("Not in force: {number} took its place, {since}.").format(
            number=replaced_by, since=since
        )
    return _("Not in force: {status}, {since}.").format(
        status=certificate_status(status), since=since
    )
