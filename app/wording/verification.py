"""The two answers about a certificate file: whether it is unaltered, and whether it is in force."""

from app.wording.jobs import certificate_status
from app.wording.translation import _, later

UNALTERED = later("Unaltered: the file is exactly as the shop signed it.")
WHY_NOT: dict[str, str] = {
    "too_large": later("Not a certificate: the file is far larger than one."),
    "unreadable": later("Not a certificate: the file cannot be read as a PDF."),
    "not_signed": later("Not proven: the file carries no signature."),
    "several_signatures": later("Altered: the file carries more than one signature."),
    "not_whole_file": later("Altered: something was added to the file after it was signed."),
    "altered": later("Altered: the file is not as it was when it was signed."),
    "not_trusted": later("Not trusted: the file was signed by a key of another authority."),
}
"""Why a file is not taken as unaltered, by code."""

IN_FORCE = later("In force: the register of the shop says that it is valid.")
NOT_IN_REGISTER = later("Not in this register: the shop has no certificate with this file.")
NO_REGISTER = later(
    "Signed under the authority that it was checked against. Whether it is still in force cannot "
    "be told here: there is no register on this machine. Ask the shop, or look at its page /verify."
)


def unaltered(why_not: str | None) -> str:
    """Return the first answer; `why_not` is the code of what speaks against it, or None."""
    return _(UNALTERED if why_not is None else WHY_NOT[why_not])


def in_force(status: str | None, replaced_by: str | None = None, since: str = "") -> str:
    """Return the second answer; `status` is None when the register does not know the file.

    since: the moment in words from which it has had that status.
    """
    if status is None:
        return _(NOT_IN_REGISTER)
    if status == "valid":
        return _(IN_FORCE)
    words = _("Not in force: {status}").format(status=certificate_status(status))
    if replaced_by:
        words += " " + _("by {number}").format(number=replaced_by)
    return f"{words}, {since}." if since else f"{words}."


def no_register() -> str:
    """Return the second answer where there is no register to ask, and who can tell it."""
    return _(NO_REGISTER)
