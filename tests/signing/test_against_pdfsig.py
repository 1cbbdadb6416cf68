"""Our signature as poppler's pdfsig reads it; its exit code says nothing, so its text is read.

It goes by the clock of the machine, so the certificate is signed now and not on the tests' day.
"""

import subprocess
from datetime import UTC, datetime
from pathlib import Path

import pytest

from app.documents.certificate import print_certificate
from app.signing.authority import authority_pem, found_authority
from app.signing.checking import check
from app.signing.keys import open_key
from tests.documents.examples import CONTENT
from tests.signing.conftest import Signed
from tests.signing.pages import signed_with
from tests.signing.test_checking import changed, gap_of

TOTAL = "Total document signed"
VALID = "Signature is Valid."
TRUSTED = "Certificate is Trusted."


@pytest.fixture(scope="module")
def signed(tmp_path_factory: pytest.TempPathFactory) -> Signed:
    now = datetime.now(UTC)
    folder = found_authority(tmp_path_factory.mktemp("shop"), "Brook Lane Frames", now)
    key = open_key(folder, None, now)
    return Signed(
        folder, key, authority_pem(folder), signed_with(key, now, print_certificate(CONTENT, b"{}"))
    )


@pytest.fixture(scope="module")
def trust(signed: Signed, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An NSS database that trusts the shop's authority."""
    folder = tmp_path_factory.mktemp("nss")
    database = f"sql:{folder}"
    certutil("-N", "-d", database, "--empty-password")
    authority = signed.folder / "authority.pem"
    certutil("-A", "-d", database, "-n", "shop", "-t", ",C,", "-i", str(authority))
    return folder


def certutil(*words: str) -> None:
    subprocess.run(["certutil", *words], check=True, capture_output=True)


def said(pdf: bytes, trust: Path, tmp_path: Path) -> str:
    file = tmp_path / "file.pdf"
    file.write_bytes(pdf)
    command = ["pdfsig", "-nssdir", f"sql:{trust}", str(file)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    return done.stdout


def test_pdfsig_finds_it_valid_trusted_and_whole(
    signed: Signed, trust: Path, tmp_path: Path
) -> None:
    text = said(signed.pdf, trust, tmp_path)
    assert all(words in text for words in (TOTAL, VALID, TRUSTED))
    assert "ETSI.CAdES.detached" in text
    assert "SHA-256" in text
    assert check(signed.pdf, [signed.authority], datetime.now(UTC)).unaltered, (
        "so says our own rule"
    )


def test_pdfsig_refuses_one_changed_byte(signed: Signed, trust: Path, tmp_path: Path) -> None:
    start, _end = gap_of(signed.pdf)
    text = said(changed(signed.pdf, start // 2), trust, tmp_path)
    assert VALID not in text
    assert "Digest Mismatch" in text


def test_pdfsig_sees_one_appended_byte(signed: Signed, trust: Path, tmp_path: Path) -> None:
    text = said(signed.pdf + b"\n", trust, tmp_path)
    assert TOTAL not in text


def test_pdfsig_does_not_trust_an_unknown_authority(
    signed: Signed, tmp_path_factory: pytest.TempPathFactory, tmp_path: Path
) -> None:
    empty = tmp_path_factory.mktemp("empty")
    certutil("-N", "-d", f"sql:{empty}", "--empty-password")
    assert TRUSTED not in said(signed.pdf, empty, tmp_path)
