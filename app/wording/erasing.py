"""What erasing a customer empties, and where a name may be left."""

from app.wording import jobs
from app.wording.translation import _, counted, later

STILL_NAMED: dict[str, str] = {
    "certificate": later("why a certificate ended"),
    "correction": later("a correction"),
    "damage": later("visible damage"),
    "hold": later("a hold"),
    "measurement": later("why a measurement takes another's place"),
    "order": later("what was ordered"),
    "photo": later("why a photo was taken out"),
    "visual_check": later("the visual check"),
}
"""Where a text stands that erasing leaves."""


def still_named(kind: str) -> str:
    """Return where such a text stands."""
    return _(STILL_NAMED[kind])


def certificate(status: str) -> str:
    """Return where a certificate stands."""
    return jobs.certificate_status(status)


def contact() -> str:
    """Return what goes of the customer's own record."""
    return _("name, address, telephone, mail and note")


def machines(count: int) -> str:
    """Return what goes of machines."""
    return counted(
        "plate and note of {count} machine", "plates and notes of {count} machines", count
    ).format(count=count)


def visits(count: int) -> str:
    """Return what goes of jobs."""
    return counted(
        "of {count} job: what was told of the accident, who gave the order, what was left with the "
        "machine and who fetched it",
        "of {count} jobs: what was told of the accident, who gave the order, what was left with "
        "the machine and who fetched it",
        count,
    ).format(count=count)


def claims(count: int) -> str:
    """Return what goes of claims."""
    return counted(
        "policy number and note of {count} claim", "policy numbers and notes of {count} claims",
        count,
    ).format(count=count)  # fmt: skip


def notes(count: int) -> str:
    """Return what goes of what was noted."""
    return counted(
        "the words of {count} note, call or reason",
        "the words of {count} notes, calls and reasons",
        count,
    ).format(count=count)


def photos(count: int) -> str:
    """Return what goes of photos."""
    return counted(
        "{count} photo with its caption", "{count} photos with their captions", count
    ).format(count=count)


def signatures(count: int) -> str:
    """Return what goes of signatures."""
    return counted(
        "name and drawn line of {count} signature", "names and drawn lines of {count} signatures",
        count,
    ).format(count=count)  # fmt: skip


def log_values(count: int) -> str:
    """Return what goes of the event log."""
    return counted(
        "{count} value beside the event log", "{count} values beside the event log", count
    ).format(count=count)


def links(count: int) -> str:
    """Return what becomes of links."""
    return counted(
        "{count} link to the claim: it opens nothing any more",
        "{count} links to claims: they open nothing any more",
        count,
    ).format(count=count)


def search() -> str:
    """Return what becomes of the search."""
    return _("the search: no word of all this finds anything any more")
