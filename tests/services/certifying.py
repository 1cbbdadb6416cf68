"""A job ready to be certified, a press of its own, and what the files say."""

import subprocess
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from app.records.scope import scoped
from app.records.tables import Person
from app.schemas.visual_check import VisualCheckIn
from app.services import certificates, jobs, visual_checks
from app.services.certificates import CertificateView, Kind
from app.services.press import Press
from app.services.surveys import SurveyView
from tests.databases import CHEAP
from tests.services.documents import BENT, SOUND, survey_document
from tests.services.measuring import Ready, ready
from tests.services.workshop import Workshop, copy_of

FILE = "workshop.sqlite"
PASSWORD = "a lamp behind the harbour"


@dataclass
class Bench:
    """The workshop's job, and the press that certificates of it are made with."""

    ready: Ready
    press: Press

    @property
    def workshop(self) -> Workshop:
        return self.ready.workshop

    @property
    def number(self) -> str:
        return self.ready.number

    def measure(self, phase: str, document: Any = None, **words: Any) -> SurveyView:
        """Submit a measurement: bent before, sound after, unless a document is given."""
        pose = BENT if phase == "before" else SOUND
        sent = document or survey_document(pose, measured_at="2026-03-02T09:00:00+01:00")
        return self.ready.submit({**sent, "phase": phase}, **words)

    def issue(
        self, kind: Kind = "completion", role: str = "inspector", **changes: Any
    ) -> CertificateView:
        shop = self.workshop
        words: dict[str, Any] = {"password": PASSWORD, "press": self.press, "passwords": CHEAP}
        password = changes.pop("password", words.pop("password"))
        return certificates.issue(
            shop.database,
            shop.people[role],
            self.number,
            kind,
            password,
            shop.now,
            **{**words, **changes},
        )

    def codes(self, kind: Kind = "completion", role: str = "inspector") -> list[str]:
        """The reasons that the sign-off page would show."""
        shop = self.workshop
        with shop.database.read() as session:
            found = certificates.reasons_against(
                session, shop.people[role], self.number, kind, shop.now
            )
        return [problem.code for problem in found]

    def register(self) -> dict[str, str]:
        """Status by number."""
        shop = self.workshop
        views = shop.see(certificates.certificates, "owner")
        return {view.number: view.status for view in views}

    def pdf(self, number: str) -> bytes:
        return self.workshop.see(certificates.certificate_file, "desk", number).pdf


@dataclass(frozen=True)
class Benches:
    """Two workshops to copy for each test: the job ready to be measured, and corrected."""

    ready: Bench
    corrected: Bench

    def copy(self, folder: Path, *, of: str = "corrected") -> Bench:
        """A bench of the test's own, keys and press included."""
        template = self.corrected if of == "corrected" else self.ready
        workshop = copy_of(template.press.data_dir / FILE, folder / FILE)
        workshop.now = template.workshop.now
        return Bench(replace(template.ready, workshop=workshop), press_in(folder))


def press_in(folder: Path) -> Press:
    return Press(folder, own_process=False)


def make_benches(workshop_template: Path, folder: Path) -> Benches:
    """Both, each in a folder of its own."""
    made = []
    for name in ("ready", "corrected"):
        (folder / name).mkdir()
        made.append(bench(copy_of(workshop_template, folder / name / FILE), folder / name))
    corrected(made[1])
    for one in made:
        one.workshop.database.close()
    return Benches(*made)


def bench(workshop: Workshop, folder: Path) -> Bench:
    """A job that is ready to be measured; the inspector has a password."""
    with workshop.database.write() as session:
        inspector = workshop.people["inspector"]
        rows = scoped(session, inspector, Person).where(Person.id == inspector.person_id)
        person = session.scalars(rows).one()
        person.password_hash, person.password_set_at = CHEAP.hash(PASSWORD), workshop.now
    return Bench(ready(workshop), press_in(folder))


def corrected(bench: Bench) -> Bench:
    """Measured bent, corrected, measured again and found within."""
    bench.measure("before")
    bench.workshop.do(jobs.note_correction, "technician", bench.number, "head pulled forward")
    bench.measure("after")
    return bench


def see_cracks(job: Bench) -> None:
    seen = VisualCheckIn.model_validate({"item": "frame_cracks", "answer": "seen"})
    job.workshop.do(visual_checks.answer, "technician", job.number, [seen])


def pages_of(pdf: bytes, folder: Path) -> list[str]:
    """What pdftotext reads of each page."""
    file = folder / "pages.pdf"
    file.write_bytes(pdf)
    command = ["pdftotext", str(file), "-"]
    said = subprocess.run(command, capture_output=True, check=True, text=True).stdout
    return said.rstrip("\f").split("\f")


BETWEEN = " ¦ "


def text_of(pdf: bytes, folder: Path) -> str:
    """What pdftotext reads, by columns and by lines, each in one line, the mark between them."""
    file = folder / "read.pdf"
    file.write_bytes(pdf)
    texts = [
        subprocess.run(command, capture_output=True, check=True, text=True).stdout
        for command in (["pdftotext", str(file), "-"], ["pdftotext", "-layout", str(file), "-"])
    ]
    return BETWEEN.join(" ".join(text.split()) for text in texts)


def by_columns(text: str) -> str:
    """The first of both readings, in which no sentence is broken by what stands beside it."""
    return text.partition(BETWEEN)[0]
