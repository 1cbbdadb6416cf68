"""Each item of a certificate's content, changed on record, stands in the printed file.

Two files are made: one of the job as the other tests have it, one of a job in which every value
was recorded differently. Every item is looked for in the text of the second, and must not stand
in the first. All names are invented.
"""

import dataclasses
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from app.records.scope import scoped
from app.records.tables import Person, Shop
from app.schemas.instrument import CalibrationIn, InstrumentIn
from app.schemas.visual_check import ITEMS, VisualCheckIn
from app.services import check_in, instruments, jobs, references, visual_checks
from app.services.press import Press
from app.signing.authority import FOLDER, authority_pem, fingerprint
from tests.services.certifying import Bench, Benches, text_of
from tests.services.documents import BENT, SOUND, reference_document, survey_document

NOTE = "welded before, long ago"


def changed_job(done: Bench) -> Bench:
    """Another machine of another customer in the same shop, every value unlike the first."""
    shop = done.workshop
    with shop.database.write() as session:
        row = session.scalars(scoped(session, shop.people["owner"], Shop)).one()
        row.name, row.address = "Harbour Frames (invented)", "9 Quay Street\nSaltport"
        row.phone, row.email = "+00 98 76-54", "quay@example.invalid"
        row.own_statement = "we belong to the invented Guild of Frame Menders"
        person = session.get(Person, shop.people["inspector"].person_id)
        assert person is not None
        person.name, person.title = "Ida Signer", "master of frames"
    reference = shop.do(references.create, "technician", other_reference())
    tower = shop.do(
        instruments.create,
        "inspector",
        InstrumentIn(name="tower 5", kind="total station", serial_number="TS-0099"),
        calibration=CalibrationIn.model_validate(
            {
                "standard_uncertainty_mm": 0.09,
                "scale_u_ppm": 15.0,
                "probe_radius_mm": 3.0,
                "calibrated": "2026-02-11",
                "due": "2026-08-12",
                "laboratory": "Saltport Calibration (invented)",
                "document_number": "SC-5512",
            }
        ),
    )
    number = shop.do(check_in.check_in, "desk", other_check_in()).job_number
    shop.do(jobs.fix_reference, "technician", number, reference.id)
    shop.do(jobs.fix_instrument, "technician", number, tower.id)
    look_at_it(done, number)
    changed = Bench(dataclasses.replace(done.ready, number=number), done.press)
    changed.measure("before", other_survey(BENT, 3))
    changed.measure("after", other_survey(SOUND, 4))
    return changed


def other_reference() -> dict[str, Any]:
    document = reference_document(
        machine={"make": "Saltwerk", "model": "Brisa 400", "years": "2015-2018"},
        provenance={"kind": "drawing", "detail": "sheet 7 of the invented works"},
        levelling="by_angle",
    )
    lines = document["characteristics"]
    lines["head_angle"] = {"nominal": lines["head_angle"]["nominal"]}
    lines["head_twist"] = {"nominal": 0.0, "lower": -0.41, "upper": 0.41}
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
        "incident": {"impact_kind": "side"},
        "rideable": "yes",
        "odometer_km": "40404",
        "visible_damage": ["right foot rest torn off"],
        "authorised_by": "Bo Different",
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
    """Bent axles are seen, arm cracks are seen and settled, the rest is not seen or not checked."""
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
    (hold,) = shop.do(visual_checks.answer, "technician", number, checks)
    reason = "the swing arm was replaced"
    shop.do(visual_checks.close_hold, "inspector", number, hold.id, reason)


ITEMS_OF_CONTENT: dict[str, str] = {
    "title": "Completion certificate",
    "shop's name": "Harbour Frames (invented)",
    "shop's address": "Saltport",
    "shop's telephone": "+00 98 76-54",
    "shop's mail": "quay@example.invalid",
    "number": "C-2026-0002",
    "customer": "Bo Different",
    "insurer": "Quayside Cover (invented)",
    "claim number": "QC-4711",
    "job": "J-2026-0002",
    "make, model, year": "Saltwerk Brisa 400 2017",
    "frame number": "YYYOTHER0A2000023",
    "plate": "SP-77 QX",
    "colour": "orange",
    "odometer": "40404 km",
    "condition": "can be ridden; right foot rest torn off",
    # In the time of the place, whose minutes need not be those of UTC.
    "measured": f"{datetime(2026, 3, 2, 11, 47, tzinfo=UTC).astimezone():%H:%M}",
    "finding": "within the tolerances of reference Saltwerk Brisa 400",
    "tolerance": "± 0.41°",
    "reference, its years": "Saltwerk Brisa 400 2015-2018, revision 1",
    "reference, its source": "sheet 7 of the invented works",
    "levelling rule": "levelled by its head angle",
    "instrument": "tower 5, total station, serial number TS-0099",
    "calibrated": "11 February 2026",
    "in calibration when measured": "yes, due 12 August 2026",
    "laboratory": "Saltport Calibration (invented)",
    "calibration certificate": "SC-5512",
    "instrument's uncertainty": "0.09 mm",
    "instrument's scale": "15 ppm",
    "temperature": "21.5 °C, after a ride-in",
    "mounting": "on the lift, engine out",
    "who authorised, with title": "Ida Signer, master of frames",
    "one person": "One person measured and authorised.",
    "seen": "bent wheel axles: welded before, long ago",
    "hold, settled": "the swing arm was replaced",
    "opinion, marked as such": "Opinion of Ida Signer, not a measured result: a rare machine",
    "visual check in counts": f"Visual check of {len(ITEMS)} items: 2 seen, 1 not checked.",
    "own statement": "The shop itself states: we belong to the invented Guild of Frame Menders",
    "address to check at": "frames.example.invalid/verify/C-2026-0002",
}
ON_EVERY_CERTIFICATE: dict[str, str] = {
    "received": "Received",
    "issued": "Issued",
    "expanded uncertainty": "U ± ",
    "coverage factor": "k = ",
    "decision rule with its threshold": "at least 0.95",
    "joint probability": "all required ones are within at once is",
    "set-up": "The set-up stood still as far as the repeats show.",
    "not measured": "swing arm and rear axle, fork, wheels",
    "what cannot be told": "a bent head cannot be told from a bent swing-arm pivot",
    "only this machine": "The results concern only the machine with this frame number",
    "cautions": "good geometry is not proof of a sound frame",
    "before the correction": "Before the correction",
    "side view": "Seen from the right side",
    "view from above": "Seen from above",
    "view from behind": "Seen from behind",
    "exaggeration": "Deviations drawn",
    "how to check": "How to check this certificate",
    "a free tool for it": "pdfsig of poppler-utils",
    "arithmetic, not a motorcycle's engine": "Jigbook's arithmetic, version 1",
    "in calibration when measured": "In calibration when measured",
}


@dataclasses.dataclass(frozen=True)
class Texts:
    plain: str
    changed: str
    authority: str


@pytest.fixture(scope="module")
def texts(benches: Benches, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Texts]:
    folder: Path = tmp_path_factory.mktemp("words")
    done = benches.copy(folder)
    plain = text_of(done.pdf(done.issue("report").number), folder)
    changed = changed_job(done)
    changed.press = Press(folder, "https://frames.example.invalid", own_process=False)
    number = changed.issue(opinion="a rare machine").number
    authority = fingerprint(authority_pem(folder / FOLDER))
    yield Texts(plain, text_of(changed.pdf(number), folder), authority)
    done.workshop.database.close()


def squeezed(text: str) -> str:
    """Without white space: a narrow column breaks its text anywhere between words."""
    return "".join(text.split())


@pytest.mark.parametrize("item", ITEMS_OF_CONTENT)
def test_what_is_changed_on_record_is_printed(texts: Texts, item: str) -> None:
    wanted = ITEMS_OF_CONTENT[item]
    assert squeezed(wanted) in squeezed(texts.changed)
    assert squeezed(wanted) not in squeezed(texts.plain)


@pytest.mark.parametrize("item", ON_EVERY_CERTIFICATE)
def test_what_every_certificate_says_is_printed(texts: Texts, item: str) -> None:
    wanted = squeezed(ON_EVERY_CERTIFICATE[item])
    assert wanted in squeezed(texts.changed)
    assert wanted in squeezed(texts.plain)


def test_it_names_no_accreditation_unless_the_shop_states_its_own(texts: Texts) -> None:
    assert "claims no accreditation" in texts.plain
    assert "claims no accreditation" not in texts.changed
    for text in (texts.plain, texts.changed):
        assert "ISO" not in text
        assert "17025" not in text


def test_two_people_are_not_called_one(texts: Texts) -> None:
    assert "One person measured" not in texts.plain
    assert "Measured by Tove" in texts.plain
    assert "Authorised by Ines" in texts.plain


def test_every_time_says_its_zone(texts: Texts) -> None:
    times = re.findall(r"\d{4}, \d\d:\d\d(.{5})", texts.changed)
    assert len(times) >= 4
    assert set(times) <= {" UTC ", " UTC,", " UTC+", " UTC−"}


def test_what_was_not_checked_is_listed_as_such(texts: Texts) -> None:
    after = texts.changed.split("Not checked", 1)[1]
    assert "cracked or bent fork yokes" in after[:60]


def test_the_authoritys_fingerprint_is_printed(texts: Texts) -> None:
    assert texts.authority in texts.changed


def test_no_number_carries_a_bare_minus_sign(texts: Texts) -> None:
    for text in (texts.plain, texts.changed):
        words = text.split()
        assert not [word for word in words if word.startswith(("-", "−")) and word[1:2].isdigit()]
