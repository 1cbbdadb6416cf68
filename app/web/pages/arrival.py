"""What follows a check-in, one page after the other: order and notice, photos, job card.

Every stop may be left out; the way stands in the address, so that it survives a reload, and in
the forms, so that each page leads on to the next.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from app.services.jobs import JobView
from app.services.permissions import Actor, allowed
from app.web.rendering import Link
from app.web.routes import ROUTES, path_to
from app.wording.errors import explain
from app.wording.translation import _

ARRIVAL = "arrival"
"""In an address and in the forms on the way."""
ON_THE_WAY = "yes"
LEFT_OUT = "photos_left_out"
"""Which of the photos that were chosen at check-in could not be kept, such as `2-5`."""
STOPS = ("order_form", "photos", "job_card")


@dataclass(frozen=True, slots=True)
class Arrival:
    """Where on the way a page stands."""

    stops: tuple[Link, ...]
    on: Link
    """The next stop; after the last one the job."""
    fields: tuple[tuple[str, str], ...]
    """What a form on the way sends along."""
    left_out: tuple[int, ...]
    warnings: tuple[str, ...]
    """What is odd about the frame number: now the machine is still in front of the desk."""
    change: str
    """Where the frame number is changed; empty for who may not."""

    @property
    def query(self) -> dict[str, str]:
        """What an address on the way ends with."""
        return dict(self.fields)


def arrival_of(sent: Mapping[str, str], job: JobView, here: str, actor: Actor) -> Arrival | None:
    """The way, for the page `here`; None for somebody who is not on it."""
    query = on_the_way(sent)
    if not query:
        return None
    left_out = numbers_of(query.get(LEFT_OUT, ""))
    at = STOPS.index(here)
    stops = tuple(Link(called(name), path_to(name, query, number=job.number)) for name in STOPS)
    to_job = Link(_("To the job"), path_to("job", number=job.number))
    return Arrival(
        stops=tuple(
            Link(stop.label, stop.href, current=place == at) for place, stop in enumerate(stops)
        ),
        on=stops[at + 1] if at + 1 < len(stops) else to_job,
        fields=tuple(query.items()),
        left_out=left_out,
        warnings=tuple(explain(one).sentence for one in job.machine.frame_number_warnings),
        change=change_of(job, query, actor),
    )


def change_of(job: JobView, query: dict[str, str], actor: Actor) -> str:
    """The field of the frame number, from where the way leads on."""
    if job.closed or not allowed(actor, ROUTES["machine_change_form"].action):
        return ""
    return f"{path_to('machine_change_form', query, number=job.number)}#frame_number"


def on_the_way(sent: Mapping[str, str]) -> dict[str, str]:
    """The end of an address on the way, for a page beside it that leads back; empty elsewhere."""
    if sent.get(ARRIVAL) != ON_THE_WAY:
        return {}
    return query_of(numbers_of(sent.get(LEFT_OUT, "")))


def query_of(left_out: tuple[int, ...] = ()) -> dict[str, str]:
    """The end of an address on the way."""
    query = {ARRIVAL: ON_THE_WAY}
    return {**query, LEFT_OUT: "-".join(map(str, left_out))} if left_out else query


def numbers_of(text: str) -> tuple[int, ...]:
    """Small numbers out of an address, whatever somebody wrote there."""
    parts = text[:60].split("-")
    return tuple(int(one) for one in parts if one.isascii() and one.isdecimal() and len(one) < 3)


def called(name: str) -> str:
    """What a stop is called."""
    return {
        "order_form": _("Order and notice"),
        "photos": _("Photos"),
        "job_card": _("Job card"),
    }[name]
