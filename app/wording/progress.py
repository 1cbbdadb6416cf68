"""How far a certificate is that was signed for, and what to do where it stands still."""

from datetime import datetime

from app.wording.moments import moment
from app.wording.translation import _, counted, later

STATES: dict[str, str] = {
    "queued": later("Signed for; it waits for its turn."),
    "being_made": later("It is being laid out, signed and checked."),
    "waits_for_key": later("It waits for the password of the signing key."),
    "waits_for_person": later("It could not be finished by itself. Its number is kept."),
    "stored": later("It is signed and stored."),
    "void": later("There will be no certificate under this number."),
}

PROBLEMS: dict[str, tuple[str, str]] = {
    "worker_failed": (
        later("The process that lays it out ended before it was done."),
        later("Look at the machine's free memory, then have it tried again."),
    ),
    "worker_too_slow": (
        later("Laying it out took longer than it may."),
        later("Have it tried again when the machine is less busy."),
    ),
    "time_stamp_unreachable": (
        later("The time-stamp service could not be reached, and the shop signs only with a stamp."),
        later("Look at the network, then have it tried again; or the owner lets the shop sign "
              "without a stamp when none is to be had."),
    ),
    "signing_password_needed": (
        later("The program was started anew since it was signed for, and the password of the "
              "signing key is kept nowhere."),
        later("Type it below."),
    ),
    "program_ended": (
        later("The program ended several times while it was being made."),
        later("Look at the machine and at the server's log, then have it tried again."),
    ),
    "disk_full": (
        later("There is no room left for the records."),
        later("Make room, then have it tried again."),
    ),
}  # fmt: skip
OTHER = (
    later("Something failed; the server's log says what."),
    later("Have it tried again; if it stands still again, give it up and sign for a new one."),
)
NOT_MADE: dict[str, str] = {
    "signing_key_changed": later("the shop's signing key is another one since it was signed for"),
    "signing_key_distrusted": later("the signing key was marked as not to be trusted any more"),
}
"""Why a number is void for good, where that can be said to anybody; else the code stands alone."""
AFTER_VOID = later("Put right what it says, then sign for a new one.")


def state(code: str) -> str:
    """The state in a sentence."""
    return _(STATES[code])


def problem(code: str | None) -> str:
    """What the last try failed by; empty when none did."""
    return _(PROBLEMS.get(code, OTHER)[0]) if code else ""


def not_made(code: str) -> str:
    """Why there is no certificate under a number."""
    why = ": ".join(filter(None, [_(NOT_MADE[code]) if code in NOT_MADE else "", code]))
    return _("The file could not be made ({code}).").format(code=why)


def advice(state_code: str, code: str | None) -> str:
    """What somebody should do; empty while it goes on by itself."""
    if state_code == "void":
        return _(AFTER_VOID)
    if state_code not in ("waits_for_key", "waits_for_person"):
        return ""
    return _(PROBLEMS.get(code or "", OTHER)[1])


def place(ahead: int) -> str:
    """How many are finished before it."""
    if not ahead:
        return _("It is the next one.")
    said = counted("{count} other is finished first.", "{count} others are finished first.", ahead)
    return said.format(count=ahead)


def next_try(when: datetime) -> str:
    """When it is tried again by itself."""
    return _("It is tried again by itself at {moment}.").format(moment=moment(when))
