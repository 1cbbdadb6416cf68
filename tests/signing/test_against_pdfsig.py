"""Our signature as poppler's pdfsig reads it; its exit code says nothing, so its text is read.

It goes by the clock of the machine, so the certificate is signed now and not on the tests' day.
Both are asked about every kind of change that the other tests make. Where pdfsig takes what our
rule refuses, or the other way round, that stands here with its reason.
"""

import subprocess
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from app.documents.certificate import print_certificate
from app.signing.authority import authority_pem, found_authority
from app.signing.checking import check, check_against
from app.signing.distrust import Distrust
from app.signing.keys import open_key
from app.signing.profile import SIGNER_YEARS
from app.signing.trust import Trust
from tests.documents.examples import CONTENT
from tests.signing.alterations import (
    letting_forms_be_filled,
    saved_again,
    signed_loosely,
    signed_twice,
    with_annotation,
    with_other_attachment,
)
from tests.signing.conftest import Signed
from tests.signing.pages import signed_with, unsigned
from tests.signing.test_checking import changed, gap_of
from tests.signing.time_authority import made, put_in_place

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


def takes(pdf: bytes, trust: Path, tmp_path: Path) -> bool:
    """Whether pdfsig finds one signature, and all three of it that count."""
    text = said(pdf, trust, tmp_path)
    whole = all(words in text for words in (TOTAL, VALID, TRUSTED))
    return whole and "Signature #2" not in text


def padding_changed(pdf: bytes) -> bytes:
    """Another digit among the zeros behind the signature."""
    _start, end = gap_of(pdf)
    return pdf[: end - 3] + b"1" + pdf[end - 2 :]


def other_digit(pdf: bytes, at: int) -> bytes:
    return pdf[:at] + (b"0" if pdf[at : at + 1] != b"0" else b"1") + pdf[at + 1 :]


def signature_changed(pdf: bytes) -> bytes:
    """One digit of the bare signature, which stands last, before the zeros."""
    start, end = gap_of(pdf)
    return other_digit(pdf, start + len(pdf[start : end - 1].rstrip(b"0")) - 12)


def authority_changed(pdf: bytes, authority: bytes) -> bytes:
    """One digit of the authority's certificate that the signature carries along."""
    der = x509.load_pem_x509_certificate(authority).public_bytes(Encoding.DER)
    start, end = gap_of(pdf)
    at = pdf[start:end].lower().index(der.hex().encode())
    return other_digit(pdf, start + at + len(der))


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda pdf: pdf, None),
        (lambda pdf: changed(pdf, 20), "altered"),
        (lambda pdf: changed(pdf, gap_of(pdf)[0] // 2), "altered"),
        (lambda pdf: changed(pdf, gap_of(pdf)[0] - 20), None),
        (lambda pdf: changed(pdf, len(pdf) - 3), None),
        (lambda pdf: pdf + b"\n", "not_whole_file"),
        (lambda pdf: pdf + b"% hello", "not_whole_file"),
        (lambda pdf: pdf + pdf, None),
        (lambda pdf: pdf[:-1], None),
        (with_annotation, "not_whole_file"),
        (with_other_attachment, "not_whole_file"),
        (saved_again, None),
        (signature_changed, "altered"),
        (padding_changed, "altered"),
    ],
)
def test_both_say_the_same_of_every_kind_of_change(
    signed: Signed, trust: Path, tmp_path: Path, change: Callable[[bytes], bytes], why: str | None
) -> None:
    pdf = change(signed.pdf)
    found = check(pdf, [signed.authority], datetime.now(UTC))
    assert found.unaltered == (pdf == signed.pdf) == takes(pdf, trust, tmp_path)
    assert why is None or found.why_not == why


def test_both_refuse_two_signatures_and_the_key_of_another_shop(
    signed: Signed, trust: Path, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    now = datetime.now(UTC)
    other = open_key(found_authority(tmp_path_factory.mktemp("other"), "Other", now), None, now)
    for pdf, why in (
        (signed_twice(unsigned(), signed.key), "several_signatures"),
        (signed_with(other, now), "not_trusted"),
        (unsigned(), "not_signed"),
    ):
        assert check(pdf, [signed.authority], now).why_not == why
        assert not takes(pdf, trust, tmp_path)


def test_both_say_that_a_signer_has_expired(
    trust: Path, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """The authority is trusted and lasts longer than its signer."""
    now = datetime.now(UTC)
    then = now - timedelta(days=365 * SIGNER_YEARS + 30)
    folder, nss = tmp_path_factory.mktemp("old"), tmp_path_factory.mktemp("old-nss")
    keys = found_authority(folder, "Brook Lane Frames", then)
    key = open_key(keys, None, then)
    certutil("-N", "-d", f"sql:{nss}", "--empty-password")
    certutil("-A", "-d", f"sql:{nss}", "-n", "shop", "-t", ",C,", "-i", str(keys / "authority.pem"))
    pdf = signed_with(key, then)
    assert check(pdf, [authority_pem(keys)], now).why_not == "signer_expired"
    text = said(pdf, nss, tmp_path)
    assert "Certificate has Expired" in text
    assert TRUSTED not in text
    time = made(then - timedelta(days=1))
    with pytest.MonkeyPatch.context() as patch:
        put_in_place(patch, time, then)
        stamped = signed_with(key, then, service=time.service())
    trusting = Trust((authority_pem(keys),), stampers=(time.pem.encode(),))
    assert check_against(stamped, trusting, now).unaltered
    assert "Certificate has Expired" in said(stamped, nss, tmp_path), "it reads no time stamps"


def test_what_pdfsig_cannot_tell(signed: Signed, trust: Path, tmp_path: Path) -> None:
    """It does not ask what a signature allows, nor look at the authority's certificate that the
    signature carries along, nor know which keys the shop has marked as stolen: there it takes
    what our rule refuses."""
    now = datetime.now(UTC)
    page = unsigned()
    for pdf, why in (
        (letting_forms_be_filled(page, signed.key), {"changes_allowed"}),
        (signed_loosely(page, signed.key), {"changes_allowed"}),
        (authority_changed(signed.pdf, signed.authority), {"unreadable", "altered"}),
    ):
        assert check(pdf, [signed.authority], now).why_not in why
        assert takes(pdf, trust, tmp_path), why
    marked = Distrust(signed.key.fingerprint, now - timedelta(days=1), "stolen")
    marking = Trust((signed.authority,), distrusted=(marked,))
    assert check_against(signed.pdf, marking, now).why_not == "signer_distrusted"
    assert takes(signed.pdf, trust, tmp_path)


def test_the_authority_is_had_from_the_file_as_its_last_page_says(
    signed: Signed, tmp_path: Path
) -> None:
    (tmp_path / "c.pdf").write_bytes(signed.pdf)
    subprocess.run(["pdfsig", "-dump", "c.pdf"], cwd=tmp_path, check=True, capture_output=True)
    (dumped,) = tmp_path.glob("c.pdf.sig*")
    command = ["openssl", "pkcs7", "-inform", "DER", "-print_certs", "-in", str(dumped)]
    listed = subprocess.run(command, check=True, capture_output=True).stdout
    own = [one for one in x509.load_pem_x509_certificates(listed) if one.issuer == one.subject]
    assert [one.public_bytes(Encoding.PEM) for one in own] == [signed.authority]
