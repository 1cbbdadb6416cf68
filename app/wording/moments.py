"""Days and times as people in the shop read them, in the time of the shop's own machine."""

from datetime import date, datetime, timedelta

from app.wording.translation import _, later

MONTHS = (
    later("January"), later("February"), later("March"), later("April"), later("May"),
    later("June"), later("July"), later("August"), later("September"), later("October"),
    later("November"), later("December"),
)  # fmt: skip


def day(moment: date) -> str:
    """Return a day such as `2 March 2026`: no order of figures that could be misread."""
    here = moment.astimezone() if isinstance(moment, datetime) else moment
    return _("{day} {month} {year}").format(
        day=here.day, month=_(MONTHS[here.month - 1]), year=here.year
    )


def moment(at: datetime) -> str:
    """Return a day and time such as `2 March 2026, 09:40`; `at` carries its time zone."""
    return _("{day}, {time}").format(day=day(at), time=f"{at.astimezone():%H:%M}")


def moment_with_zone(at: datetime) -> str:
    """Return a day and time with its zone, such as `2 March 2026, 09:40 UTC`: for what is read
    elsewhere than in the shop."""
    here = at.astimezone()
    return _("{moment} {zone}").format(moment=moment(at), zone=zone_of(here))


def zone_of(here: datetime) -> str:
    """The difference to UTC in figures, for names of zones stand for several of them."""
    minutes = int((here.utcoffset() or timedelta()).total_seconds()) // 60
    if not minutes:
        return "UTC"
    hours, rest = divmod(abs(minutes), 60)
    return f"UTC{'+' if minutes > 0 else '−'}{hours:02d}:{rest:02d}"
