"""Small pieces that several pages show: verdicts with their mark, holds, names of machines."""

from dataclasses import dataclass
from datetime import datetime

from app.services.machines import MachineView
from app.wording.jobs import machine as machine_in_words
from app.wording.moments import day
from app.wording.translation import _, counted
from app.wording.verdicts import SAYS_NOTHING_OF, finding


@dataclass(frozen=True, slots=True)
class Mark:
    """A verdict: its code, which chooses the shape, and its word, which always stands beside."""

    code: str
    word: str


@dataclass(frozen=True, slots=True)
class Fact:
    """One labelled fact."""

    label: str
    value: str


def mark(verdict: str) -> Mark:
    """The mark of an overall finding."""
    return Mark(verdict, finding(verdict))


def opened(holds: int) -> str:
    """How many holds are open; empty when none is."""
    if not holds:
        return ""
    return counted("{count} open hold", "{count} open holds", holds).format(count=holds)


def machine_name(machine: MachineView) -> str:
    """Make, model and year in one line."""
    return machine_in_words(machine.make, machine.model, machine.year)


@dataclass(frozen=True, slots=True)
class Said:
    """A finding's sentence, and what it says that it does not say."""

    sentence: str
    caveat: str


def said_apart(sentence: str) -> Said:
    """The sentence without its standing last part, which a page shows smaller below it."""
    caveat = _(SAYS_NOTHING_OF)
    return Said(sentence.removesuffix(caveat).strip(), caveat)


def or_not_stated(value: str | int | None) -> str:
    """A value, or that nobody stated it."""
    return str(value) if value not in (None, "") else _("not stated")


def or_erased(value: str | None, erased_at: datetime | None) -> str:
    """A personal value; where it is empty, whether it went with its customer."""
    return value or gone(erased_at)


def gone(erased_at: datetime | None) -> str:
    """What stands for an empty personal value: nothing tells afterwards whether it was stated."""
    if erased_at is None:
        return _("not stated")
    return _("erased on {day}, if it was stated").format(day=day(erased_at))


def no_reason(erased_at: datetime | None) -> str:
    """What stands for a reason that is empty."""
    return _("no reason given") if erased_at is None else _("the reason was erased")


def nameless() -> str:
    """Who did something, where the name was erased; stands in a sentence as a name does."""
    return _("a person (name erased)")
