"""A job in which everything was recorded otherwise than in the job that other tests have.

All names are invented.
"""

import dataclasses
from typing import Any

from app.records.scope import scoped
from app.records.tables import Person, Shop
from app.schemas.correction import CorrectionIn
from app.schemas.instrument import CalibrationIn, InstrumentIn
from app.schemas.visual_check import ITEMS, VisualCheckIn
from app.services import (
    check_in,
    corrections,
    instruments,
    jobs,
    photo_sharing,
    photos,
    references,
    visual_checks,
)
from tests.services.certifying import Bench
from tests.services.documents import BENT, SOUND, reference_document, survey_document
from tests.services.pictures import prepared

NOTE = "welded before, long ago"


def changed_job(done: Bench, zone: str) -> Bench:
    """Another machine of another customer in the same shop, every value unlike the first."""
    shop = done.workshop
    with shop.database.write() as session:
        row = session.scalars(scoped(session, shop.people["owner"], Shop)).one()
        row.name, row.address = "Harbour Frames (invented)", "9 Quay Street\nSaltport"
        row.phone, row.email = "+00 98 76-54", "quay@example.invalid"
        row.time_zone = zone
        row.own_statement = "we belong to the invented Guild of Frame Menders"
        person = session.get(Person, shop.people["inspector"].person_id)
        assert person is not None
        person.name, person.title = "Ida Signer", "master of frames"
    reference = shop.do(references.create, "technician", other_reference())
    number = shop.do(check_in.check_in, "desk", other_check_in()).job_number
    shop.do(jobs.fix_reference, "technician", number, reference.id)
    shop.do(jobs.fix_instrument, "technician", number, instrument(done, "arm 9", "AR-0044", 4))
    look_at_it(done, number)
    show_it(done, number)
    return Bench(dataclasses.replace(done.ready, number=number), done.press)


def measured_before(changed: Bench) -> None:
    """Bent, in another place, by somebody else and with another instrument than afterwards."""
    document = other_survey(BENT, 3)
    document |= {"by": "Ib Earlier", "mounting": "on its wheels", "part_temperature_c": 14.5}
    del document["after_ride_in"]
    changed.measure("before", document)


def corrected_and_measured(changed: Bench) -> None:
    """Pulled, a part replaced, a word put right; measured again with the tower."""
    correct_it(changed)
    shop = changed.workshop
    tower = instrument(changed, "tower 5", "TS-0099", 12)
    shop.do(jobs.fix_instrument, "technician", changed.number, tower)
    changed.measure("after", other_survey(SOUND, 4) | {"measured_at": "2026-03-02T12:05:00+00:00"})


def instrument(done: Bench, name: str, serial: str, due: int) -> int:
    """A total station or an arm, calibrated in February, due on that day of August."""
    kind = "total station" if name.startswith("tower") else "portable arm"
    made = done.workshop.do(
        instruments.create,
        "inspector",
        InstrumentIn(name=name, kind=kind, serial_number=serial),
        calibration=CalibrationIn.model_validate(
            {
                "standard_uncertainty_mm": 0.09,
                "scale_u_ppm": 15.0,
                "probe_radius_mm": 3.0,
                "calibrated": "2026-02-11",
                "due": f"2026-08-{due:02}",
                "laboratory": "Saltport Calibration (invented)",
                "document_number": "SC-5512",
            }
        ),
    )
    return made.id


def correct_it(changed: Bench) -> None:
    """Three corrections, the first of them put right."""

    def note(**sent: Any) -> int:
        words = CorrectionIn.model_validate(sent)
        view = changed.workshop.do(corrections.note, "technician", changed.number, words)
        return view.id

    wrong = note(text="pulled by 17 mm", part="head", method="pulled")
    note(
        text="pulled by 7 mm, held at the pivot",
        part="head",
        method="pulled",
        instruction="works handbook 400, page 31",
        done_on="2026-03-02",
        supersedes=wrong,
    )
    note(text="both tubes new", part="fork", method="replaced", done_by="Quay Forks (invented)")
    note(text="bracket set again", part="rear_frame", method="pressed")


def show_it(done: Bench, number: str) -> None:
    """Three photos, two of which go with the claim."""
    shop = done.workshop
    for caption, about in (
        ("as it stood in the yard", None),
        ("paint thrown off at the head", "zone.frame"),
        ("kept in the shop", None),
    ):
        added = shop.do(photos.add, "technician", number, prepared(len(caption)), about, caption)
        if caption != "kept in the shop":
            shop.do(photo_sharing.share, "inspector", number, added.id)


def other_reference() -> dict[str, Any]:
    document = reference_document(
        machine={"make": "Saltwerk", "model": "Brisa 400", "years": "2015-2018"},
        provenance={"kind": "drawing", "detail": "sheet 7 of the invented works"},
        levelling="by_angle",
    )
    lines = document["characteristics"]
    lines["head_angle"] = {"nominal": lines["head_angle"]["nominal"]}
    lines["head_twist"] = {
        "nominal": 0.0, "lower": -0.41, "upper": 0.41, "source": "sheet 7, line 3, of those works",
    }  # fmt: skip
    document["materials"] = {"frame": "aluminium"}
    document["repair"] = {"straightening": "permitted", "limit_mm": 1.5}
    return document


def other_check_in() -> dict[str, Any]:
    return {
        "customer": {"name": "Bo Different"},
        "machine": {
            "make": "Saltwerk",
            "model": "Brisa 400",
            "year": "2017",
            "frame_number": "YYYOTHER0A2000023",
            "plate": "SP-77 QX",
            "colour": "orange",
        },
        "claim": {"insurer": {"name": "Quayside Cover (invented)"}, "claim_number": "QC-4711"},
        "incident": {"impact_kind": "side", "happened_on": "2026-02-19"},
        "rideable": "yes",
        "odometer_km": "40404",
        "visible_damage": ["right foot rest torn off"],
        "authorised_by": "Bo Different",
        "authorised_scope": "measure, and correct the head alone",
        "privacy_notice_given": "on",
    }


def other_survey(pose: Any, seed: int) -> dict[str, Any]:
    document = survey_document(
        pose,
        seed=seed,
        measured_at="2026-03-02T11:47:00+00:00",
        by="Ida Signer",
        mounting="on the lift, engine out",
    )
    return {**document, "part_temperature_c": 21.5, "after_ride_in": True}


def look_at_it(done: Bench, number: str) -> None:
    """Bent axles and cracks of the arm are seen, the rest is not seen or not checked."""
    shop = done.workshop
    answers = dict.fromkeys(ITEMS, "not_seen") | {
        "wheel_axles": "seen",
        "arm_cracks": "seen",
        "fork_yokes": "not_checked",
    }
    checks = [
        VisualCheckIn.model_validate({"item": item, "answer": answer, "note": NOTE})
        if item == "wheel_axles"
        else VisualCheckIn.model_validate({"item": item, "answer": answer})
        for item, answer in answers.items()
    ]
    shop.do(visual_checks.answer, "technician", number, checks)
