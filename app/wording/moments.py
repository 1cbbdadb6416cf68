"""Days and times as people in the shop read them, by the shop's own clock.

Pages and certificates are told in the zone that stands on record for the shop, `told_in`, wherever
the machine stands; what no shop tells, such as a command, in the machine's own.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from app.wording.translation import _, later

MONTHS = (
    later("January"), later("February"), later("March"), later("April"), later("May"),
    later("June"), later("July"), later("August"), later("September"), later("October"),
    later("November"), later("December"),
)  # fmt: skip

WEEKDAYS = (
    later("Monday"), later("Tuesday"), later("Wednesday"), later("Thursday"), later("Friday"),
    later("Saturday"), later("Sunday"),
)  # fmt: skip

_ZONE: ContextVar[ZoneInfo | None] = ContextVar("_ZONE", default=None)
_NAMED: ContextVar[bool] = ContextVar("_NAMED", default=True)


@contextmanager
def told_in(zone: str) -> Iterator[None]:
    """Within this, days and times are told in that zone; of an empty one, in the machine's own."""
    token = _ZONE.set(ZoneInfo(zone) if zone else None)
    try:
        yield
    finally:
        _ZONE.reset(token)


@contextmanager
def in_the_shop() -> Iterator[None]:
    """Within this the zone goes without saying: for a page on which times of the shop stand beside
    sentences of a certificate."""
    token = _NAMED.set(False)
    try:
        yield
    finally:
        _NAMED.reset(token)


def here(at: datetime) -> datetime:
    """The moment by the clock that is told."""
    return at.astimezone(_ZONE.get())


def today(now: datetime) -> date:
    """The day that it is by the clock that is told."""
    return here(now).date()


def day(moment: date) -> str:
    """Return a day such as `2 March 2026`: no order of figures that could be misread."""
    told = here(moment) if isinstance(moment, datetime) else moment
    return _("{day} {month} {year}").format(
        day=told.day, month=_(MONTHS[told.month - 1]), year=told.year
    )


def weekday(one: date) -> str:
    """Return a day such as `Monday 2 March 2026`, for days that somebody chooses or waits for."""
    return _("{weekday} {day}").format(weekday=_(WEEKDAYS[one.weekday()]), day=day(one))


def moment(at: datetime) -> str:
    """Return a day and time such as `2 March 2026, 09:40`; `at` carries its time zone."""
    return _("{day}, {time}").format(day=day(at), time=f"{here(at):%H:%M}")


def day_near(one: date, today: date) -> str:
    """Return a day such as `2 March`, with its year only where that is another: for lists of what
    goes on now."""
    if one.year != today.year:
        return day(one)
    return _("{day} {month}").format(day=one.day, month=_(MONTHS[one.month - 1]))


def moment_near(at: datetime, today: date) -> str:
    """Return `today, 09:40`, or for what was before today its day alone, in the same way."""
    told = here(at)
    if told.date() != today:
        return day_near(told.date(), today)
    return _("today, {time}").format(time=f"{told:%H:%M}")


def moment_with_zone(at: datetime) -> str:
    """Return a day and time with its zone, such as `2 March 2026, 09:40 UTC`: for what is read
    elsewhere than in the shop."""
    if not _NAMED.get():
        return moment(at)
    return _("{moment} {zone}").format(moment=moment(at), zone=zone_of(here(at)))


def zone_of(told: datetime) -> str:
    """The difference to UTC in figures, for names of zones stand for several of them."""
    minutes = int((told.utcoffset() or timedelta()).total_seconds()) // 60
    if not minutes:
        return "UTC"
    hours, rest = divmod(abs(minutes), 60)
    return f"UTC{'+' if minutes > 0 else '−'}{hours:02d}:{rest:02d}"
