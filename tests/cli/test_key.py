"""`jigbook key`: fingerprints, renewing, the shop's own file, time stamps."""

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest

from app.cli import main
from app.errors import Unavailable
from app.records.session import Database
from app.services.joining import first_start
from app.settings import sqlite_url
from app.signing.authority import FOLDER, authority_pem, fingerprint, found_authority
from app.signing.keys import open_key
from app.signing.profile import new_key
from app.signing.renewal import use_own
from app.signing.time_stamp_service import service_of
from app.signing.trust import trust_of
from app.wording.signing_key import in_groups
from tests.databases import CHEAP, migrate
from tests.signing.test_renewal import OWN, issued_to
from tests.signing.time_authority import made


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A data folder with records and keys."""
    folder = tmp_path / "data"
    folder.mkdir()
    migrate(folder / "jigbook.sqlite3")
    database = Database(sqlite_url(folder))
    first_start(database, datetime.now(UTC), passwords=CHEAP)
    database.close()
    found_authority(folder, "Brook Lane Frames", datetime.now(UTC))
    return folder


def key(data: Path, capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str]:
    capsys.readouterr()
    code = main(["key", *words, "--data", str(data)])
    return code, "".join(capsys.readouterr())


def test_the_sheet_names_authority_and_signer_and_what_they_prove(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, said = key(data, capsys, "show")
    assert code == 0
    assert in_groups(fingerprint(authority_pem(data / FOLDER))) in said
    assert in_groups(open_key(data / FOLDER, None, datetime.now(UTC)).fingerprint) in said
    assert "Does not prove: who that is." in said
    assert said.index("Authority") < said.index("This is the one to compare") < said.index("Signer")
    assert re.search(r"until .* (UTC|UTC[+−]\d\d:\d\d):", said)


def test_renewing_makes_another_signer_and_tells_its_fingerprint(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = open_key(data / FOLDER, None, datetime.now(UTC))
    code, said = key(data, capsys, "renew", "--authority-too")
    after = open_key(data / FOLDER, None, datetime.now(UTC))
    assert code == 0
    assert after.authority_pem != before.authority_pem
    assert in_groups(after.fingerprint) in said
    assert "An earlier authority" in said
    assert before.authority_pem in trust_of(data / FOLDER).authorities


def test_the_shops_own_file_is_loaded_with_its_password(
    data: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    now = datetime.now(UTC)
    file, password = tmp_path / "own.p12", tmp_path / "password"
    chain = issued_to("Brook Lane Frames", (new_key(), new_key()), now=now)
    file.write_bytes(chain.file())
    password.write_text("not this\n")
    words = ("load", str(file), "--password-file", str(password))
    code, said = key(data, capsys, *words)
    assert code == 2
    assert "password of the signing key is not right" in said
    password.write_text(f"{OWN}\n")
    code, said = key(data, capsys, *words)
    assert code == 0
    assert "the issuer of the key vouches" in said
    assert open_key(data / FOLDER, OWN, now).common_name == "Brook Lane Frames"
    use_own(data / FOLDER, chain.file(), OWN, now)
    assert len(trust_of(data / FOLDER).signers) == 2, "loading it again changes nothing"


def test_time_stamps_are_set_and_taken_away(
    data: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    root = tmp_path / "root.pem"
    root.write_text(made(datetime.now(UTC)).pem)
    address = "https://stamps.example/tsa"
    words = ("time-stamps", "--address", address, "--authority", str(root))
    code, said = key(data, capsys, *words, "--if-unreachable", "sign_without")
    assert (code, said) == (0, f"Signatures are stamped by {address}.\n")
    service = service_of(data / FOLDER)
    assert service is not None
    assert (service.address, service.if_unreachable) == (address, "sign_without")
    code, said = key(data, capsys, "time-stamps", "--address", address)
    assert code == 2
    assert "choose the file" in said
    assert key(data, capsys, "time-stamps", "--off") == (0, "Signatures are not stamped.\n")
    assert service_of(data / FOLDER) is None


def test_a_key_that_may_be_stolen_signs_no_more_until_it_is_renewed(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = ("--since", "2026-01-01T00:00+00:00", "--reason", "burglary")
    code, said = key(data, capsys, "distrust", *told)
    assert (code, "Renew the key" in said) == (0, True)
    with pytest.raises(Unavailable, match="signing_key_distrusted"):
        open_key(data / FOLDER, None, datetime.now(UTC))
    (marked,) = trust_of(data / FOLDER).distrusted
    assert (marked.since, marked.reason) == (datetime(2026, 1, 1, tzinfo=UTC), "burglary")
    assert key(data, capsys, "renew")[0] == 0
    assert open_key(data / FOLDER, None, datetime.now(UTC)).fingerprint != marked.signer_sha256
    for wrong in (("--since", "yesterday"), ("--since", "2999-01-01T00:00"), ("--signer", "ff")):
        code, said = key(data, capsys, "distrust", *told, *wrong)
        assert code == 2
        assert "Traceback" not in said
