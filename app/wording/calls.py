"""Calls: whom, why, and what came of it."""

from app.wording.translation import _, later

WHOM: dict[str, str] = {
    "customer": later("customer"),
    "adjuster": later("adjuster"),
}

REASONS: dict[str, str] = {
    "late": later("the promised day is past"),
    "ready": later("the machine can be fetched"),
    "hold": later("damage was seen that keeps the machine here"),
    "finding": later("something is outside its tolerance"),
    "wanted": later("the shop asks for this call"),
    "waits_here": later("the job is cancelled, and the machine waits here to be fetched"),
    "withdrawn": later("the certificate was withdrawn"),
}

OUTCOMES: dict[str, str] = {
    "reached": later("reached"),
    "message_left": later("left a message"),
    "not_reached": later("not reached"),
}


def whom(code: str) -> str:
    return _(WHOM.get(code, code))


def reason(code: str, words: str | None = None, left: str = "") -> str:
    """Return why somebody must be called: what was asked for, or what the records say.

    left: what is open on a machine that can be fetched.
    """
    said = words or _(REASONS.get(code, code))
    if words and code == "withdrawn":
        said = _("the certificate was withdrawn: {reason}").format(reason=words)
    if not left:
        return said
    told = _(
        "{said}, and leaves with this open: {left}; it is not to be ridden before that is put right"
    )
    return told.format(said=said, left=left)


def outcome(code: str) -> str:
    return _(OUTCOMES.get(code, code))
