"""What the check-in form holds, as the schema asks for it: choices become words and days."""

import re
from collections.abc import Mapping
from datetime import date, timedelta

from app.schemas.damage import ZONES
from app.web.form_state import Option
from app.web.forms import Form, Value, nested
from app.wording import orders
from app.wording.moments import weekday
from app.wording.translation import _

ODOMETER = "odometer_km"
OWN_FIELDS = (
    "visible_damage", "belongings", "kept", "happened", "promised", "place", "order", "take",
    "form_token", "photo",
)  # fmt: skip
"""Fields that are read here and that the schema does not know by these names."""
IN_THOUSANDS = re.compile(r"[0-9]{1,3}(?P<mark>[.,'’])[0-9]{3}((?P=mark)[0-9]{3})*")
DAYS_BACK, DAYS_AHEAD = 14, 21


def sent_check_in(form: Form) -> dict[str, Value]:
    """The form as the schema has it; what was typed goes before what was chosen."""
    sent = nested((name, value) for name, value in form.fields if name not in OWN_FIELDS)
    if form.text(ODOMETER):
        sent[ODOMETER] = kilometres(form.text(ODOMETER))
    sent["visible_damage"] = lines_of(form.text("visible_damage"))
    sent["belongings"] = [*form.all("kept"), *lines_of(form.text("belongings"))]
    sent["damage"] = damage_of(sent.get("damage"))
    choose(sent, "promised_on", form.text("promised"))
    choose(sent, "storage_place", form.text("place"))
    if form.text("order"):
        choose(sent, "authorised_scope", orders.scope(form.text("order")))
    incident = sent.setdefault("incident", {})
    if isinstance(incident, dict):
        choose(incident, "happened_on", form.text("happened"))
    return without_what_is_known(form, sent)


def without_what_is_known(form: Form, sent: dict[str, Value]) -> dict[str, Value]:
    """A known customer, machine or insurer goes before what was typed for a new one."""
    claim = sent.get("claim")
    if isinstance(claim, dict) and not form.text("claim.insurer.name"):
        claim.pop("insurer", None)
    for known, group in (("customer_id", "customer"), ("machine_id", "machine")):
        if form.text(known):
            sent.pop(group, None)
    return sent


def choose(sent: dict[str, Value], name: str, chosen: str) -> None:
    """What was chosen from a list, unless another answer was typed."""
    typed = sent.get(name)
    if chosen and not (isinstance(typed, str) and typed.strip()):
        sent[name] = chosen


def lines_of(text: str) -> list[Value]:
    """A text field as a list, one entry a line."""
    return [line.strip() for line in text.split("\n") if line.strip()]


def damage_of(sent: Value | None) -> list[Value]:
    """The zones that were ticked, or of which something was chosen, from front to rear.

    A note that came with a zone by another way goes with it when nothing else is said of it.
    """
    by_zone: Mapping[str, Value] = sent if isinstance(sent, dict) else {}
    found: list[Value] = []
    for zone in ZONES:
        said = by_zone.get(zone)
        if isinstance(said, dict) and any(said.get(part) for part in ("seen", "side", "look")):
            found.append({"zone": zone, **{k: v for k, v in said.items() if k != "seen"}})
    return found


def kilometres(typed: str) -> str:
    """A reading as one writes it, `12 345 km` or `12.345`, as digits alone.

    Tenths of a kilometre have one digit: three behind each point or comma are thousands.
    """
    digits = "".join(typed.split())
    digits = digits[:-2] if digits.casefold().endswith("km") else digits
    grouped = IN_THOUSANDS.fullmatch(digits)
    return digits.replace(grouped["mark"], "") if grouped else digits


def past_days(today: date, standing: date | None = None) -> tuple[Option, ...]:
    """Days on which it may have happened, the latest first; also the one that stands."""
    named = {0: _("today"), 1: _("yesterday")}
    days = [today - timedelta(days=back) for back in range(DAYS_BACK + 1)]
    return (
        Option("", _("earlier, or not known")),
        *(Option(one.isoformat(), named.get(i, weekday(one))) for i, one in enumerate(days)),
        *standing_day(standing, days),
    )


def coming_days(today: date, standing: date | None = None) -> tuple[Option, ...]:
    """Days for which the machine may be promised; first the one that stands, where it is past."""
    days = [today + timedelta(days=ahead) for ahead in range(1, DAYS_AHEAD + 1)]
    return (
        Option("", _("not promised, or later")),
        *standing_day(standing, days),
        *(Option(one.isoformat(), weekday(one)) for one in days),
    )


def standing_day(standing: date | None, days: list[date]) -> tuple[Option, ...]:
    """The day on record, where it is none of these."""
    if standing is None or standing in days:
        return ()
    return (Option(standing.isoformat(), _("{day}, as on record").format(day=weekday(standing))),)


def clock_options() -> tuple[Option, ...]:
    """Directions of an impact, seen from above, as hours."""
    places = {
        12: _("from ahead"),
        3: _("from the right"),
        6: _("from behind"),
        9: _("from the left"),
    }
    return tuple(Option(str(hour), places.get(hour, "")) for hour in [12, *range(1, 12)])
