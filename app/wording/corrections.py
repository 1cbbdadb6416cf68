"""Corrections in words: the part, the method, and what a method of force or heat demands."""

from app.wording import cautions
from app.wording.translation import _, later

PARTS: dict[str, str] = {
    "head": later("steering head"),
    "frame": later("frame"),
    "rear_frame": later("rear frame"),
    "engine_mounts": later("engine mounts"),
    "pivot": later("swing-arm pivot"),
    "swing_arm": later("swing arm"),
    "fork": later("fork"),
    "front_wheel": later("front wheel"),
    "rear_wheel": later("rear wheel"),
    "other": later("another part"),
}

METHODS: dict[str, str] = {
    "pulled": later("pulled cold"),
    "pressed": later("pressed cold"),
    "adjusted": later("adjusted or refitted"),
    "replaced": later("part replaced"),
    "heated": later("worked with heat"),
    "welded": later("welded"),
    "other": later("another method"),
}


def part(code: str) -> str:
    """Return what was worked on."""
    return _(PARTS[code]) if code in PARTS else code


def method(code: str) -> str:
    """Return how it was worked on."""
    return _(METHODS[code]) if code in METHODS else code


def caution(code: str) -> str:
    """Return what must be known of a method of force or heat; empty for the others."""
    said = cautions.everywhere()
    if code in {"heated", "welded"}:
        return f"{said[3]} {said[2]}"
    return said[2] if code in {"pulled", "pressed"} else ""
