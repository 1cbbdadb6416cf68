"""What a desk sends, as plain data; people, makers and numbers are invented."""

from typing import Any

FRAME_NUMBER = "ZZZTEST00A1000017"
"""Seventeen characters; made up, of no maker."""


def check_in_form(**changes: Any) -> dict[str, Any]:
    """A complete check-in of a new customer with a new machine."""
    form: dict[str, Any] = {
        "customer": {
            "name": "Åse Invented",
            "address": "1 Made-up Lane\nNowhere",
            "phone": "+00 12 34-56",
            "email": "ase@example.invalid",
        },
        "machine": {
            "make": "Fjordmark",
            "model": "Skarv 700",
            "year": "2021",
            "frame_number": "zzz test-00A1000017",
            "plate": "AB-12 CD",
            "colour": "grey",
        },
        "claim": {"insurer": {"name": "Invented Mutual"}, "claim_number": "CL/2026-77"},
        "incident": {
            "happened_on": "2026-02-27",
            "impact_kind": "front_on",
            "clock_direction": "12",
            "account": "Ran into the back of a van.\nNobody was hurt.",
        },
        "rideable": "no",
        "odometer_km": "18230",
        "visible_damage": ["fork bent", "left handlebar broken"],
        "belongings": ["one key", "top case"],
        "storage_place": "bay 3",
        "authorised_by": "Åse Invented",
        "authorised_scope": "measure and report",
        "privacy_notice_given": "on",
    }
    return {**form, **changes}
