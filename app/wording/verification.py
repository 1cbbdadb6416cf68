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
    "changes_allowed": later("Not a certificate: its signature lets others change the file."),
    "not_trusted": later("Not trusted: the file was signed by a key of another authority."),
    "not_this_shop": later(
        "Not trusted: the authority is known, but the signer is none that this shop has used."
    ),
    "signer_distrusted": later(
        "Not trusted: the shop has marked the key that signed this file as not to be trusted any "
        "more, and no trusted time stamp shows that the signature is older than that."
    ),
    "signer_expired": later(
        "Not proven by the signature alone: nothing was changed since it was signed, but the "
        "signer's certificate has expired since, and no trusted time stamp shows that the "
        "signature is older than that."
    ),
    "signer_not_yet_valid": later(
        "Not proven: the signer's certificate is not valid yet. Look at the date of this machine."
    ),
}
"""Why a file is not taken as unaltered, by code."""

KEPT_BY_SHOP = later(
    "The shop's own register holds this very file, byte for byte: it is the one that was issued."
)
KEPT_BEFORE = later(
    "The shop's own register holds this very file, byte for byte, as issued before the key was "
    "not to be trusted any more: it is the one that was issued."
)
KEPT_AFTER = later(
    "The shop's own register holds this very file, but as issued when the key was no longer to be "
    "trusted. Ask the shop for a new one in its place."
)
DISTRUSTED = later("Its signatures are not trusted from {moment} on.")
STAMPED = later("Stamped {moment} by {by}.")
STAMPED_BY_UNKNOWN = later(
    "Stamped {moment} by {by}, a time-stamp service that is not among the trusted ones here."
)
WITHOUT_STAMP = {
    "unreachable": later(
        "Signed without a time stamp: the time-stamp service could not be reached."
    ),
}
"""Why a certificate has no time stamp, by the code on record; nothing is said where none was
meant to be."""

IN_FORCE = later("In force: the register of the shop says so.")
TRUSTED_NO_MORE = later(
    "Not in force: its signature is trusted no more (key that may be stolen). Ask the shop for a "
    "new one."
)
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
    if status == "distrusted":
        return _(TRUSTED_NO_MORE)
    words = _("Not in force: {status}").format(status=certificate_status(status))
    if replaced_by:
        words += " " + _("by {number}").format(number=replaced_by)
    return f"{words}, {since}." if since else f"{words}."


def no_register() -> str:
    """Return the second answer where there is no register to ask, and who can tell it."""
    return _(NO_REGISTER)


def kept_by_shop(distrusted: bool = False) -> str:
    """Return what speaks for a file whose signer has expired, or is trusted no more since: the
    register's own copy."""
    return _(KEPT_BEFORE if distrusted else KEPT_BY_SHOP)


def kept_too_late() -> str:
    """Return what is told of a file that was issued with a key that was trusted no more."""
    return _(KEPT_AFTER)


def belong_together(same: bool) -> str:
    """Return whether a number and the digest of the data beside it belong together."""
    if same:
        return _("Number and data belong together: the register holds this digest of its data.")
    return _(
        "Number and data do not belong together: the register holds another digest of the data "
        "under this number. The code was copied wrong, or the paper is not the one of this number."
    )


def distrusted(moment: str) -> str:
    """Return from when on a signer is trusted no more; `moment` in words."""
    return _(DISTRUSTED).format(moment=moment)


def stamped(moment: str, by: str, trusted: bool) -> str:
    """Return what a file's time stamp states; `moment` in words."""
    return _(STAMPED if trusted else STAMPED_BY_UNKNOWN).format(moment=moment, by=by)


def without_stamp(code: str | None) -> str:
    """Return why a certificate has no time stamp; empty where there is nothing to say."""
    return _(WITHOUT_STAMP[code]) if code in WITHOUT_STAMP else ""
