"""The people, customers, insurers and instruments of the demonstration; all invented."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from app.demonstration.models import Model

SHOP = "Demonstration Workshop (invented)"
SHOP_ADDRESS = "3 Made-up Square\nNowhere (invented)"
SHOP_PHONE = "+00 555 0100 (invented)"
SHOP_EMAIL = "shop@example.invalid"


@dataclass(frozen=True, slots=True)
class Member:
    """One of the shop's people."""

    sign_in_name: str
    name: str
    role: str
    title: str


OWNER = Member("owner", "Olof Invented", "owner", "owner")
MEMBERS = (
    OWNER,
    Member("desk", "Dora Invented", "desk", "front desk"),
    Member("technician", "Tove Invented", "technician", "chassis technician"),
    Member("inspector", "Ines Invented", "inspector", "inspector"),
)

INSURERS = (
    {"name": "Invented Mutual", "address": "1 Made-up Square\nNowhere"},
    {"name": "Example Assurance (invented)", "address": "2 Made-up Square\nNowhere"},
)

SCRAWL = [
    [[90, 230], [140, 110], [180, 250], [230, 120], [260, 240], [330, 180], [380, 235], [460, 190]],
    [[470, 120], [480, 240], [560, 200], [640, 230], [820, 170]],
]
"""Strokes that nobody could take for a name."""

ARM = {"name": "arm 2", "kind": "measuring arm", "serial_number": "INV-0002"}
GAUGE = {"name": "height gauge", "kind": "height gauge on a surface plate"}
SEED_ARM = {"name": "invented measuring arm", "kind": "measuring arm"}
"""The instrument that the files in `seed_data` name."""


def calibration(today: date, **figures: Any) -> dict[str, Any]:
    """A calibration of two months ago that is good for a year."""
    calibrated = today - timedelta(days=60)
    return {
        "standard_uncertainty_mm": 0.1,
        "offset_u_mm": 0.02,
        "scale_u_ppm": 20.0,
        "probe_radius_mm": 3.0,
        "calibrated": calibrated.isoformat(),
        "due": (calibrated + timedelta(days=365)).isoformat(),
        "laboratory": "Invented Calibration Laboratory",
        "document_number": f"INV-{calibrated.year}-017",
        "note": "invented for the demonstration",
        **figures,
    }


def arrival(place: int, name: str, model: Model, **changes: Any) -> dict[str, Any]:
    """A check-in form: the customer, the machine, and what happened to it."""
    form: dict[str, Any] = {
        "customer": {
            "name": f"{name} (invented)",
            "address": f"{place} Example Street\nNowhere",
            "phone": f"+00 555 01{place:02d}",
            "email": f"customer{place}@example.invalid",
        },
        "machine": {
            "make": model.make,
            "model": model.model,
            "year": 2023,
            "frame_number": f"ZZZDEM{place:011d}",
            "plate": f"IN {place:02d} VE",
        },
        "rideable": "not_tried",
        "odometer_km": 4200 + 1731 * place,
        "belongings": ["one key"],
        "storage_place": f"bay {place}",
        "authorised_by": f"{name} (invented)",
        "authorised_scope": "measure and report",
        "privacy_notice_given": True,
    }
    return {**form, **changes}
