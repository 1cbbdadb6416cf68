"""Days and times as people in the shop read them, in the time of the shop's own machine."""

from datetime import date, datetime

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
