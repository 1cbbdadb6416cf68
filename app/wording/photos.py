"""What a photo shows, in words, and what a signature was given for."""

from app.wording import damage, jobs
from app.wording.translation import _, later

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
