"""What a photo shows, in words, and what a signature was given for."""

from app.wording import damage, jobs
from app.wording.translation import _, counted, later

PURPOSES: dict[str, str] = {
    "authorisation": later("authorisation to inspect"),
    "privacy": later("privacy notice"),
}


def about(code: str | None) -> str:
    """Return what a photo shows: a zone, an item of the visual check, or the whole machine."""
    kind, _dot, name = (code or "").partition(".")
    if kind == "zone":
        return damage.zone(name)
    if kind == "item":
        return jobs.item(name)
    return _("the machine as a whole")


def purpose(code: str) -> str:
    """Return what was signed."""
    return _(PURPOSES.get(code, code))


def with_certificate(number: str) -> str:
    """Return the title of the list of photos in a certificate's zip."""
    return _("Photos that go with certificate {number}").format(number=number)


STANDING: dict[str, str] = {
    "": later("These stand in the certificate as well:"),
    "since": later(
        "These are not in the certificate: they were chosen after it was signed, and a signed "
        "certificate does not change."
    ),
    "no_room": later("These are not in the certificate: it had no room for more photos."),
}


def standing(why: str) -> str:
    """Return what is said above photos; `why` a certificate does not show them, empty: it does."""
    return _(STANDING[why])


def not_in(why: str, number: str) -> str:
    """Return, beside one photo, why it is not in that certificate; empty where it is."""
    told = {
        "since": _("not in certificate {number}: chosen after it was signed"),
        "no_room": _("not in certificate {number}: it had no room for more"),
    }
    return told[why].format(number=number) if why else ""


def chosen_since(count: int, number: str) -> str:
    """Return how many photos were chosen after a certificate was signed; empty where none was."""
    if not count:
        return ""
    return counted(
        "{count} photo was chosen after certificate {number} was signed, so the certificate does "
        "not show it. It is marked.",
        "{count} photos were chosen after certificate {number} was signed, so the certificate does "
        "not show them. Each is marked.",
        count,
    ).format(count=count, number=number)
