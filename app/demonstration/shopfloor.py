"""The acts of the demonstration's people: the same services as the pages, at invented moments."""

from collections.abc import Callable, Mapping
from dataclasses import fields
from datetime import datetime, timedelta
from typing import Any, TypeVar

import numpy as np

from app.demonstration import cast, instrument_records
from app.demonstration.full_survey import full_reference
from app.demonstration.models import MODELS, Model, reference_of
from app.demonstration.pose import Pose
from app.demonstration.rigs import Rig
from app.demonstration.seed_files import reference as seed_reference
from app.demonstration.simulator import as_document, simulate
from app.errors import Unavailable
from app.records.session import Database
from app.schemas.check_bar import BarReadingIn, CheckBarIn, ExplanationIn
from app.schemas.correction import CorrectionIn
from app.schemas.instrument import CalibrationIn, InstrumentIn
from app.schemas.insurer import InsurerIn
from app.schemas.note import NoteIn
from app.schemas.shop import ShopIn
from app.schemas.signature import PURPOSES, SignatureIn
from app.schemas.visual_check import ITEMS, VisualCheckIn
from app.services import (
    certificates,
    check_bars,
    check_in,
    claims,
    corrections,
    drafts,
    gauge_studies,
    handedness_checks,
    instruments,
    insurers,
    jobs,
    notes,
    photo_sharing,
    photos,
    references,
    shop,
    signatures,
    surveys,
    visual_checks,
)
from app.services.darkroom import Darkroom
from app.services.passwords import PASSWORDS, Passwords
from app.services.permissions import Actor
from app.services.press import Press
from app.services.register import Kind

T = TypeVar("T")

MOUNTING = "engine in, wheels out, on side stands (invented, made by the simulator)"


class Shopfloor:
    """Acts for the people at the moment `now`, which the stories move on."""

    def __init__(
        self,
        database: Database,
        people: Mapping[str, Actor],
        secrets: Mapping[str, str],
        press: Press,
        now: datetime,
        passwords: Passwords = PASSWORDS,
    ) -> None:
        """people and secrets: actor and password by role. now: when the demonstration is made."""
        self.database, self.people, self.secrets = database, people, secrets
        self.press, self.made_at, self.now = press, now, now
        self.passwords = passwords
        self.darkroom = Darkroom(own_process=False)
        self.jobs: list[str] = []
        self.claim_job: str | None = None
        self.claim_token: str | None = None
        self.no_certificates: Unavailable | None = None
        self.insurers: list[int] = []
        self.references: dict[Model, int] = {}
        self.arm = self.gauge = 0

    def at(self, days: int, hours: float) -> datetime:
        """A moment so many days from today: an hour of that day, or hours from now on day 0."""
        if days == 0:
            return self.made_at + timedelta(hours=hours)
        morning = self.made_at.replace(hour=0, minute=0, second=0, microsecond=0)
        return morning + timedelta(days=days, hours=hours)

    def do(self, function: Callable[..., T], role: str, *args: Any, **kwargs: Any) -> T:
        """One writing unit of one person."""
        with self.database.write() as session:
            return function(session, self.people[role], *args, now=self.now, **kwargs)

    def furnish(self) -> None:
        """What a shop has before its first machine: where it is, insurers, instruments, models."""
        self._say_where_it_is()
        self.insurers = [
            self.do(insurers.create, "desk", InsurerIn.model_validate(insurer)).id
            for insurer in cast.INSURERS
        ]
        today = self.made_at.date()
        self.arm = self._instrument(cast.ARM, cast.calibration(today))
        coarse = {"standard_uncertainty_mm": 0.6, "offset_u_mm": 0.1, "document_number": None}
        self.gauge = self._instrument(cast.GAUGE, cast.calibration(today, **coarse))
        self._keep_instrument_record()
        self._instrument(cast.SEED_ARM, cast.calibration(today, document_number=None))
        self.references = {
            model: self.do(references.create, "technician", reference_of(model)).id
            for model in MODELS
        }
        for document in (seed_reference(), full_reference()):
            self.do(references.create, "technician", document)

    def _keep_instrument_record(self) -> None:
        """The arm's check bar of the last weeks, a gauge study, and the turn to the left."""
        today = self.made_at.date()
        owned = CheckBarIn.model_validate(instrument_records.bar(today))
        bar_id = self.do(check_bars.add_bar, "inspector", owned).id
        for moment, sent in instrument_records.readings(bar_id, self.at(-1, 7.5)):
            self.now = moment
            reading = BarReadingIn.model_validate(sent)
            made = self.do(check_bars.record_reading, "technician", self.arm, reading)
            if not made.in_control:
                why = ExplanationIn(reason=instrument_records.WHY_OUT)
                self.do(check_bars.explain, "inspector", self.arm, made.id, why)
        self.now = self.at(-25, 10.0)
        study = instrument_records.gauge_study(str(cast.ARM["name"]), self.now)
        self.do(gauge_studies.record, "technician", self.arm, study)
        turned = instrument_records.turned_steering(self._document(Pose(), Rig(), 43))
        self.do(handedness_checks.record, "technician", self.arm, turned)
        self.now = self.made_at

    def _say_where_it_is(self) -> None:
        """Whoever holds a certificate is told to ask the shop: it says where that is."""
        with self.database.read() as session:
            known = shop.read(session, self.people["owner"])
        settings = {field.name: getattr(known, field.name) for field in fields(known)}
        where = {"address": cast.SHOP_ADDRESS, "phone": cast.SHOP_PHONE, "email": cast.SHOP_EMAIL}
        sent = {name: value for name, value in settings.items() if value not in ("", False)}
        self.do(shop.change, "owner", ShopIn.model_validate({**sent, **where}))

    def check_in(self, form: Mapping[str, Any]) -> str:
        number = self.do(check_in.check_in, "desk", form).job_number
        self.jobs.append(number)
        return number

    def prepare(
        self,
        number: str,
        model: Model,
        instrument_id: int | None = None,
        seen: Mapping[str, str] | None = None,
    ) -> None:
        """Reference, instrument and visual check; `seen` says what was found and where."""
        self.do(jobs.fix_reference, "technician", number, self.references[model])
        self.do(jobs.fix_instrument, "technician", number, instrument_id or self.arm)
        found = seen or {}
        checks = [
            VisualCheckIn.model_validate(
                {
                    "item": item,
                    "answer": "seen" if item in found else "not_seen",
                    "note": found.get(item),
                }
            )
            for item in ITEMS
        ]
        self.do(visual_checks.answer, "technician", number, checks)

    def promised(self, days: int) -> str:
        """A day so many days from today."""
        return (self.made_at.date() + timedelta(days=days)).isoformat()

    def sign_order(self, number: str, name: str) -> None:
        """The customer gives the order and reads the notice, on the screen at the counter."""
        for purpose in PURPOSES:
            sent = {"purpose": purpose, "name": name, "strokes": cast.SCRAWL}
            self.do(signatures.sign, "desk", number, SignatureIn.model_validate(sent))

    def ask_for_call(self, role: str, number: str, whom: str, words: str) -> None:
        """Somebody wants a person called."""
        note = NoteIn.model_validate({"call": whom, "words": words})
        self.do(notes.add, role, number, note)

    def photograph(self, role: str, number: str, picture: bytes, about: str, caption: str) -> None:
        """A picture among the job's photos, chosen to go with the claim."""
        prepared = self.darkroom.prepare(picture)
        added = self.do(photos.add, role, number, prepared, about, caption)
        self.do(photo_sharing.share, "inspector", number, added.id)

    def correct(self, number: str, part: str, method: str, words: str, **more: str) -> None:
        """What was done to the machine."""
        sent = {"part": part, "method": method, "text": words, **more}
        self.do(corrections.note, "technician", number, CorrectionIn.model_validate(sent))

    def measure(self, number: str, pose: Pose, rig: Rig, seed: int, phase: str) -> None:
        document = self._document(pose, rig, seed)
        self.do(surveys.submit, "technician", number, document, phase=phase)

    def begin(self, number: str, pose: Pose, rig: Rig, seed: int, points: int) -> None:
        """A measurement of which only so many points were taken."""
        document = self._document(pose, rig, seed)
        taken = [self._typed(point) for point in document.pop("points")[:points]]
        header = {key: value for key, value in document.items() if key != "format"}
        draft = self.do(drafts.open_draft, "technician", number, "before", header=header)
        for point in taken:
            self.now += timedelta(seconds=40)
            self.do(drafts.add_points, "technician", number, draft.id, [point])

    def certify(self, number: str, kind: Kind) -> None:
        """Issue a certificate, unless this machine cannot make a PDF: then none is made."""
        if self.no_certificates is not None:
            return
        try:
            certificates.issue(
                self.database,
                self.people["inspector"],
                number,
                kind,
                self.secrets["inspector"],
                self.now,
                press=self.press,
                passwords=self.passwords,
            )
        except Unavailable as error:
            if error.code != "pdf_needs_pango":
                raise
            self.no_certificates = error

    def share(self, number: str) -> None:
        """A link to the claim view, made today so that it is open for a year."""
        with self.database.write() as session:
            made = claims.create_link(
                session,
                self.people["inspector"],
                number,
                self.made_at,
                note="the insurer's adjuster (invented)",
                valid_days=claims.LONGEST_DAYS,
            )
        self.claim_job, self.claim_token = number, made.token

    def _instrument(self, instrument: Mapping[str, Any], calibration: Mapping[str, Any]) -> int:
        return self.do(
            instruments.create,
            "inspector",
            InstrumentIn.model_validate(instrument),
            calibration=CalibrationIn.model_validate(calibration),
        ).id

    def _document(self, pose: Pose, rig: Rig, seed: int) -> dict[str, Any]:
        """A survey by the simulator; what it was measured with is the job's instrument."""
        simulated = simulate(pose, rig, np.random.default_rng(seed))
        document = as_document(
            simulated,
            measured_at=self.now.isoformat(),
            by=cast.MEMBERS[2].name,
            mounting=MOUNTING,
        )
        del document["instrument"]
        return document

    @staticmethod
    def _typed(point: Mapping[str, Any]) -> dict[str, Any]:
        typed = {axis: str(point[axis]).replace(".", ",") for axis in "xyz"}
        return {**point, "as_entered": typed}
