"""The signed register: what it says, and that `openssl cms -verify` takes it and nothing else."""

import csv
import hashlib
import io
import json
import subprocess
import zipfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator  # type: ignore[import-untyped]
from pydantic import TypeAdapter

from app.errors import BadInput, NotAllowed, Unavailable
from app.records.scope import scoped
from app.records.tables import Event
from app.schemas.register import RegisterFileOut
from app.services import certificates, register_export, signing_keys
from app.signing.authority import FOLDER
from app.signing.detached import sign_detached
from app.signing.keys import open_key
from app.signing.renewal import renew_authority
from app.wording.how_to_check import of_register
from tests.services.certifying import Bench

pytestmark = pytest.mark.usefixtures("quick")
OWN = "a key kept by the owner"


def unpacked(bench: Bench, password: str | None = None, role: str = "owner") -> dict[str, bytes]:
    made = bench.workshop.do(register_export.export, role, password, press=bench.press)
    assert made.filename == "register-2026-03-02.zip"
    content = b"".join(made.archive.pieces())
    assert len(content) == made.archive.size
    with zipfile.ZipFile(io.BytesIO(content)) as opened:
        return {name: opened.read(name) for name in opened.namelist()}


def says(files: dict[str, bytes], folder: Path) -> tuple[bool, str]:
    """What the command answers that the export itself tells to give."""
    for name, content in files.items():
        (folder / name).write_bytes(content)
    (step, *_rest) = of_register("0" * 64)
    (command,) = step.commands
    words = [*command.split(), "-attime", str(int(datetime(2026, 3, 3, tzinfo=UTC).timestamp()))]
    done = subprocess.run(words, cwd=folder, capture_output=True, text=True, check=False)
    return done.returncode == 0, done.stdout + done.stderr


def test_it_holds_every_number_and_names_nobody(done: Bench) -> None:
    old = done.issue().number
    new = done.issue(replaces=old, reason="plate corrected").number
    done.workshop.do(certificates.withdraw, "inspector", new, "another machine")
    files = unpacked(done)
    assert list(files) == [
        "register.json", "register.json.p7s", "register.csv", "shop-authority.pem",
        "how-to-check.txt",
    ]  # fmt: skip
    said = json.loads(files["register.json"])
    assert (said["format"], said["shop"]) == ("jigbook.register/1", "Invented Workshop")
    first, second = said["entries"]
    assert (first["number"], first["status"], first["replaced_by"]) == (old, "superseded", new)
    assert (second["number"], second["status"], second["replaces"]) == (new, "withdrawn", old)
    assert first["pdf_sha256"] == hashlib.sha256(done.pdf(old)).hexdigest()
    assert datetime.fromisoformat(second["status_since"]) == done.workshop.now - timedelta(
        minutes=1
    )
    told = b" ".join(files.values()).decode("utf-8", "replace")
    for word in ("Fjordmark", "ZZZTEST", "plate corrected", "another machine", "CL/2026", "Ines"):
        assert word not in told, word


def test_it_follows_its_schema_and_the_table_says_the_same(done: Bench) -> None:
    done.issue()
    files = unpacked(done)
    said = json.loads(files["register.json"])
    Draft202012Validator(TypeAdapter(RegisterFileOut).json_schema()).validate(said)
    assert said["csv_sha256"] == hashlib.sha256(files["register.csv"]).hexdigest()
    rows = list(csv.DictReader(io.StringIO(files["register.csv"].decode())))
    assert rows == [{k: "" if v is None else v for k, v in one.items()} for one in said["entries"]]


def test_openssl_takes_it_as_the_export_says_and_no_changed_byte(
    done: Bench, tmp_path: Path
) -> None:
    done.issue()
    files = unpacked(done)
    (step, *_rest) = of_register("0" * 64)
    assert step.commands[0] in files["how-to-check.txt"].decode()
    taken, words = says(files, tmp_path)
    assert taken, words
    assert step.answers[0] in words
    assert (tmp_path / "checked.json").read_bytes() == files["register.json"]
    content = files["register.json"]
    for place in range(0, len(content), 97):
        changed = content[:place] + bytes([content[place] ^ 1]) + content[place + 1 :]
        assert not says({**files, "register.json": changed}, tmp_path)[0], place


def test_openssl_refuses_the_authority_of_another_shop(done: Bench, tmp_path: Path) -> None:
    done.issue()
    files = unpacked(done)
    renew_authority(done.press.data_dir / FOLDER, "Other", None, done.workshop.now)
    other = signing_keys.authority(done.press).pem
    assert not says({**files, "shop-authority.pem": other}, tmp_path)[0]


def test_an_rsa_key_signs_as_well(done: Bench, tmp_path: Path) -> None:
    done.issue()
    renew_authority(done.press.data_dir / FOLDER, "Shop", None, done.workshop.now, "rsa-3072")
    assert says(unpacked(done), tmp_path)[0]


def test_the_signature_states_the_moment_and_binds_its_own_certificate(done: Bench) -> None:
    done.issue()
    key = open_key(done.press.data_dir / FOLDER, None, done.workshop.now)
    made = sign_detached(b"content", key, done.workshop.now)
    command = ["openssl", "cms", "-cmsout", "-print", "-inform", "DER"]
    told = subprocess.run(command, input=made, capture_output=True, check=True).stdout.decode()
    for word in ("contentType", "messageDigest", "signingTime", "signingCertificateV2"):
        assert word in told
    assert "Mar  2" in told


def test_a_key_with_a_password_of_its_own_is_asked_for_it(done: Bench) -> None:
    done.issue()
    done.workshop.do(signing_keys.set_password, "owner", None, OWN, press=done.press)
    for wrong in (None, "not this one"):
        with pytest.raises(BadInput) as caught:
            unpacked(done, wrong)
        assert caught.value.problems[0].field == "key_password"
    assert "register.json" in unpacked(done, OWN)


def test_who_may_export_and_what_the_log_says(done: Bench) -> None:
    with pytest.raises(Unavailable, match="no_authority"):
        unpacked(done)
    done.issue()
    for role in ("desk", "technician"):
        with pytest.raises(NotAllowed):
            unpacked(done, role=role)
    files = unpacked(done, role="inspector")
    with done.workshop.rows() as (session, owner):
        rows = scoped(session, owner, Event).where(Event.what == "register.exported")
        said = json.loads(session.scalars(rows).one().public)
    assert said == {"entries": 1, "sha256": hashlib.sha256(files["register.json"]).hexdigest()}
