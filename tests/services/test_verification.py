"""Two answers about a file: unaltered, and in force; and what outsiders may see of the register."""

import dataclasses
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from app.cli import main
from app.cli import verify as verify_command
from app.errors import NotFound
from app.records.migrating import upgrade
from app.services import certificates, verification
from app.services.verification import Verification
from app.signing.authority import FOLDER, authority_pem, fingerprint, found_authority
from app.signing.profile import SIGNER_YEARS
from app.wording.signing_key import in_groups
from tests.services.certifying import Bench, Benches


@dataclasses.dataclass
class Issued:
    done: Bench
    number: str
    pdf: bytes

    def verify(self, pdf: bytes | None = None, authority: bytes | None = None) -> Verification:
        shop = self.done.workshop
        return verification.verify(
            shop.database,
            self.pdf if pdf is None else pdf,
            shop.now,
            press=self.done.press,
            authority=authority,
        )


@pytest.fixture(scope="module")
def made(benches: Benches, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Issued]:
    """One certificate, laid out and signed, for all tests of this module that only look."""
    done = benches.copy(tmp_path_factory.mktemp("issued"))
    number = done.issue().number
    yield Issued(done, number, done.pdf(number))
    done.workshop.database.close()


def test_a_certificate_as_it_was_given_out_is_unaltered_and_in_force(made: Issued) -> None:
    found = made.verify()
    assert (found.unaltered, found.why_not, found.in_register, found.in_force) == (
        True,
        None,
        True,
        True,
    )
    assert found.signed_by == "Invented Workshop - certificate signing"
    assert found.signed_at == made.done.workshop.now
    assert found.entry is not None
    assert (found.entry.number, found.entry.finding) == (made.number, "within")
    assert found.entry.machine == "Fjordmark Skarv 700, ZZZTEST00A1000017"
    assert found.pdf_sha256 == found.entry.pdf_sha256


def test_an_altered_one_is_not_looked_up(made: Issued) -> None:
    found = made.verify(made.pdf + b"\n")
    assert (found.unaltered, found.why_not) == (False, "not_whole_file")
    assert (found.in_register, found.in_force, found.entry) == (False, False, None)


def test_another_authority_is_not_trusted(made: Issued, tmp_path: Path) -> None:
    other = authority_pem(found_authority(tmp_path, "Other", made.done.workshop.now))
    assert made.verify(authority=other).why_not == "not_trusted"
    own = authority_pem(made.done.press.data_dir / FOLDER)
    assert made.verify(authority=own).in_force


def test_with_only_the_number_little_is_shown_of_the_machine(made: Issued) -> None:
    with made.done.workshop.database.read() as session:
        entry = verification.register_entry(session, made.number)
    assert entry.machine == "Fjordmark Skarv 700, …0017"
    assert (entry.status, entry.finding) == ("valid", "within")
    with (
        pytest.raises(NotFound, match="no_such_certificate"),
        made.done.workshop.database.read() as session,
    ):
        verification.register_entry(session, "C-2026-9999")


@dataclasses.dataclass
class Shell:
    """`jigbook verify` on a copy of the shop's data folder."""

    made: Issued
    file: Path
    capsys: pytest.CaptureFixture[str]

    def run(self, pdf: bytes, *words: str) -> tuple[int, str]:
        self.file.write_bytes(pdf)
        code = main(["verify", str(self.file), *words])
        return code, "".join(self.capsys.readouterr())

    def at_home(self, pdf: bytes) -> tuple[int, str]:
        return self.run(pdf, "--data", str(self.made.done.press.data_dir))


@pytest.fixture
def shell(
    made: Issued,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> Shell:
    monkeypatch.setattr(verify_command, "utc_now", lambda: made.done.workshop.now)
    database = made.done.press.data_dir / "workshop.sqlite"
    monkeypatch.setenv("JIGBOOK_DATABASE_URL", f"sqlite:///{database}")
    return Shell(made, tmp_path / "certificate.pdf", capsys)


def test_the_command_says_0_for_unaltered_and_in_force(made: Issued, shell: Shell) -> None:
    code, said = shell.at_home(made.pdf)
    assert code == 0
    assert "Unaltered: the file is exactly as the shop signed it." in said
    assert "In force: the register of the shop says so." in said
    assert made.number in said
    authority = fingerprint(authority_pem(made.done.press.data_dir / FOLDER))
    signer = made.verify().signer_sha256 or ""
    for digits in (authority, signer):
        assert in_groups(digits) in said, "as the sheet has them"


def test_the_command_says_2_for_an_altered_file(made: Issued, shell: Shell) -> None:
    middle = len(made.pdf) // 2
    changed = made.pdf[:middle] + bytes([made.pdf[middle] ^ 1]) + made.pdf[middle + 1 :]
    for pdf in (made.pdf + b"\n", changed, b"no PDF", b""):
        code, said = shell.at_home(pdf)
        assert code == 2
        assert "In force" not in said


def test_the_command_trusts_the_authority_it_is_given(
    made: Issued, shell: Shell, tmp_path: Path
) -> None:
    own = tmp_path / "own.pem"
    own.write_bytes(authority_pem(made.done.press.data_dir / FOLDER))
    elsewhere = str(tmp_path / "elsewhere")
    code, said = shell.run(made.pdf, "--authority", str(own), "--data", elsewhere)
    assert code == 0, "the database is named by the environment"
    other = found_authority(tmp_path, "Other", made.done.workshop.now) / "authority.pem"
    code, said = shell.run(made.pdf, "--authority", str(other), "--data", elsewhere)
    assert code == 2
    assert "Not trusted" in said


def test_the_command_sends_to_the_shop_where_there_is_no_register(
    made: Issued, shell: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = tmp_path / "own.pem"
    own.write_bytes(authority_pem(made.done.press.data_dir / FOLDER))
    monkeypatch.delenv("JIGBOOK_DATABASE_URL")
    empty = tmp_path / "empty"
    code, said = shell.run(made.pdf, "--authority", str(own), "--data", str(empty))
    assert code == 3
    assert "Unaltered" in said
    assert "cannot be told here" in said
    assert "Ask the shop" in said
    assert "Not in this register" not in said
    assert not empty.exists(), "asking makes no database"


def test_the_command_says_3_where_the_register_does_not_know_the_file(
    made: Issued, shell: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = tmp_path / "own.pem"
    own.write_bytes(authority_pem(made.done.press.data_dir / FOLDER))
    other = f"sqlite:///{tmp_path / 'other.sqlite'}"
    upgrade(other)
    monkeypatch.setenv("JIGBOOK_DATABASE_URL", other)
    code, said = shell.run(made.pdf, "--authority", str(own))
    assert code == 3
    assert "Not in this register" in said
    assert "cannot be told here" not in said


def test_the_command_refuses_plainly_without_an_authority_or_a_file(
    shell: Shell, made: Issued, tmp_path: Path
) -> None:
    code, said = shell.run(made.pdf, "--data", str(tmp_path / "nothing"))
    assert code == 2
    assert "authority" in said
    assert "Traceback" not in said
    assert main(["verify", str(tmp_path / "missing.pdf")]) == 2
    broken = tmp_path / "broken.pem"
    broken.write_bytes(b"no certificate")
    code, said = shell.run(made.pdf, "--authority", str(broken))
    assert code == 2
    assert "no certificate in PEM form" in said


def test_a_file_whose_signer_has_expired_is_told_as_such_beside_the_shops_own_copy(
    made: Issued, shell: Shell, monkeypatch: pytest.MonkeyPatch
) -> None:
    late = made.done.workshop.now + timedelta(days=365 * SIGNER_YEARS + 1)
    found = verification.verify(made.done.workshop.database, made.pdf, late, press=made.done.press)
    assert (found.unaltered, found.why_not) == (False, "signer_expired")
    assert (found.in_register, found.kept_by_shop, found.in_force) == (True, True, True)
    changed = verification.verify(
        made.done.workshop.database, made.pdf + b"\n", late, press=made.done.press
    )
    assert (changed.in_register, changed.kept_by_shop, changed.in_force) == (False, False, False)
    monkeypatch.setattr(verify_command, "utc_now", lambda: late)
    code, said = shell.at_home(made.pdf)
    assert code == 2
    assert "Not proven by the signature alone" in said
    assert "byte for byte" in said
    assert "In force" in said


def test_after_withdrawing_it_is_unaltered_but_no_longer_in_force(
    made: Issued, shell: Shell
) -> None:
    """The last test of this module: it ends the certificate that the others look at."""
    made.done.workshop.do(certificates.withdraw, "inspector", made.number, "wrong machine")
    found = made.verify()
    assert (found.unaltered, found.in_register, found.in_force) == (True, True, False)
    code, said = shell.at_home(made.pdf)
    assert code == 3
    assert "Not in force: withdrawn, " in said
    assert "wrong machine" not in said, "the reason is for the shop and the adjuster"
