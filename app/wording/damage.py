"""What the zones of a machine are called, and how damage looks from outside."""

import re

from app.wording.translation import _, later

ZONES: dict[str, str] = {
    "front_wheel": later("front wheel"),
    "fork": later("fork"),
    "headlamp": later("headlamp and fairing"),
    "handlebar": later("handlebar, levers, mirrors"),
    "tank": later("fuel tank"),
    "frame": later("frame"),
    "engine": later("engine"),
    "foot_rest": later("foot rest, pedals"),
    "exhaust": later("exhaust"),
    "seat": later("seat"),
    "swing_arm": later("swing arm"),
    "rear_wheel": later("rear wheel"),
    "tail": later("tail and rear light"),
}

NAMED_BY: dict[str, str] = {
    "front_wheel": later("front wheel, front rim"),
    "fork": later("fork"),
    "headlamp": later("headlamp, headlight, fairing"),
    "handlebar": later("handlebar, lever, mirror"),
    "tank": later("tank"),
    "frame": later("frame"),
    "engine": later("engine"),
    "foot_rest": later("foot rest, footrest, pedal"),
    "exhaust": later("exhaust, silencer"),
    "seat": later("seat"),
    "swing_arm": later("swing arm"),
    "rear_wheel": later("rear wheel, rear rim"),
    "tail": later("tail, rear light"),
}
"""Words by which somebody names a zone in a sentence."""

SIDES: dict[str, str] = {
    "left": later("left"),
    "right": later("right"),
    "both": later("left and right"),
}

LOOKS: dict[str, str] = {
    "scratched": later("scratched"),
    "dented": later("dented"),
    "bent": later("bent"),
    "cracked": later("cracked or broken"),
    "torn_off": later("torn off"),
    "leaking": later("leaking"),
}


def zone(code: str) -> str:
    return _(ZONES.get(code, code))


def is_named(code: str, words: str) -> bool:
    """Return whether words speak of a zone, by one of the names that people use for it."""
    names = _(NAMED_BY[code]).split(", ")
    return any(re.search(rf"\b{re.escape(name)}", words, re.IGNORECASE) for name in names)


def look_is_named(code: str, words: str) -> bool:
    """Return whether words say that something looks so, by the first word for it."""
    return re.search(rf"\b{re.escape(look(code).split()[0])}\b", words, re.IGNORECASE) is not None


def side(code: str) -> str:
    return _(SIDES.get(code, code))


def look(code: str) -> str:
    return _(LOOKS.get(code, code))


def line(zone_code: str, side_code: str | None, look_code: str | None, note: str | None) -> str:
    """Return the damage of one zone in one line, such as `fork, left: bent (at the lower yoke)`."""
    place = ", ".join(filter(None, [zone(zone_code), side(side_code) if side_code else ""]))
    told = look(look_code) if look_code else "" if note else _("damaged")
    return _("{place}: {damage}").format(
        place=place,
        damage=f"{told} ({note})" if told and note else told or note,
    )
