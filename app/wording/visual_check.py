"""What was seen at the visual check, what was done since, and what is seen now, in words."""

from collections.abc import Sequence

from app.wording import jobs
from app.wording.enumeration import listed
from app.wording.translation import _, later

SINCE: dict[str, str] = {
    "replaced": later("replaced"),
    "repaired": later("repaired"),
    "no_damage": later("looked at again: no damage"),
}
CHOICES: dict[str, str] = {
    "replaced": later("The part was replaced"),
    "repaired": later("It was repaired"),
    "no_damage": later("Looked at again: it is no damage"),
}
MOST = 4


def since(code: str | None) -> str:
    """Return why what was seen is answered otherwise; None: nobody was asked."""
    return _(SINCE[code]) if code in SINCE else _("not said what was done")


def choice(code: str) -> str:
    """Return the same as a person chooses it."""
    return _(CHOICES[code])


def with_place(code: str, place: str | None) -> str:
    """Return an item with where it was seen."""
    return f"{jobs.item(code)} ({place})" if place else jobs.item(code)


def seen(when: str, name: str | None, note: str | None) -> str:
    """Return when something was seen, by whom, and what was noted of it."""
    told = _("Seen {moment} by {name}").format(moment=when, name=name or _("the shop"))
    return f"{told}: {note}" if note else told


def seen_before(place: str | None, note: str | None, day: str, name: str | None) -> str:
    """Return what was seen of an item before, where, when and by whom."""
    told = _("seen on {day} by {name}").format(day=day, name=name or _("the shop"))
    noted = ", ".join(part for part in (place, note) if part)
    return f"{told} ({noted})" if noted else told


def done_since(code: str | None, words: str | None) -> str:
    """Return what was done about it."""
    return f"{since(code)}: {words}" if words else since(code)


def now(answer: str, when: str, name: str | None) -> str:
    """Return what the newest answer says, of something that was seen before."""
    text = {
        "not_seen": _("Looked again {moment}, {name}: nothing seen"),
        "not_checked": _("Not looked at since ({moment}, {name})"),
    }[answer]
    return text.format(moment=when, name=name or _("the shop"))


def settled(items: Sequence[tuple[str, str | None, str]]) -> str:
    """Return, in a sentence, what was seen before and is answered otherwise: each item in words,
    the code of what was done, and the day of it. Empty where there is none."""
    if not items:
        return ""
    told = [_("{item}: {done}, {day}").format(item=i, done=since(c), day=d) for i, c, d in items]
    return _("Seen before, and since then: {items}.").format(items=listed(told, MOST))
