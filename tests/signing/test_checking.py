"""The strict rule: what was signed is accepted, and nothing else."""

import io
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pikepdf
import pytest
from pyhanko.pdf_utils.generic import TextStringObject
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign.general import SigningError
from pyhanko.sign.signers.pdf_signer import PdfSignatureMetadata, PdfSigner

from app.signing import checking
from app.signing.authority import authority_pem, fingerprint, found_authority
from app.signing.checking import check
from app.signing.keys import open_key
from app.signing.profile import SIGNER_YEARS
from app.signing.signature import signer_of
from tests.databases import NOW
from tests.signing.conftest import Signed
from tests.signing.pages import signed_with, unsigned


def verdict(pdf: bytes, signed: Signed) -> str | None:
    return check(pdf, [signed.authority], NOW).why_not


def gap_of(pdf: bytes) -> tuple[int, int]:
    """Where the signature itself stands between the two signed ranges."""
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        ranges = [int(one) for one in opened.Root.AcroForm.Fields[0].V.ByteRange]
    return ranges[1], ranges[2]


def changed(pdf: bytes, position: int) -> bytes:
    """The file with one byte changed."""
    return pdf[:position] + bytes([pdf[position] ^ 1]) + pdf[position + 1 :]


def test_what_was_signed_is_accepted(signed: Signed) -> None:
    found = check(signed.pdf, [signed.authority], NOW)
    assert found.unaltered
    assert found.why_not is None
    assert found.signed_by == "Brook Lane Frames - certificate signing"
    assert found.signed_at == NOW
    assert found.signer_sha256 == signed.key.fingerprint
    assert found.authority_sha256 == fingerprint(signed.authority)


def test_one_changed_byte_in_the_signed_ranges_is_noticed(signed: Signed) -> None:
    start, end = gap_of(signed.pdf)
    size = len(signed.pdf)
    places = [*range(10, start, start // 16), *range(end, size, max(1, (size - end) // 8))]
    assert len(places) >= 24
    accepted = [at for at in places if verdict(changed(signed.pdf, at), signed) is None]
    assert accepted == []


def other_digit(pdf: bytes, position: int) -> bytes:
    """The file with one hexadecimal digit changed for another."""
    digit = b"%X" % ((int(pdf[position : position + 1], 16) + 1) % 16)
    return pdf[:position] + digit + pdf[position + 1 :]


def test_one_changed_byte_in_the_gap_is_noticed(signed: Signed) -> None:
    """The digits at 50 and 1995 are version numbers, which no signature protects."""
    start, end = gap_of(signed.pdf)
    length = len(signed.pdf[start + 1 : end - 1].rstrip(b"0"))
    versions = [start + 1 + 50, start + 1 + 1995]
    places = [*versions, *range(start + 1, start + length, length // 10), end - 2]
    accepted = [at for at in places if verdict(other_digit(signed.pdf, at), signed) is None]
    assert accepted == []
    assert verdict(changed(signed.pdf, start), signed) is not None
    assert verdict(changed(signed.pdf, end - 1), signed) is not None


def test_a_digit_of_the_gap_in_the_other_case_is_noticed(signed: Signed) -> None:
    start, end = gap_of(signed.pdf)
    letter = next(at for at in range(start, end) if signed.pdf[at : at + 1] in b"ABCDEF")
    small = signed.pdf[letter : letter + 1].lower()
    assert verdict(signed.pdf[:letter] + small + signed.pdf[letter + 1 :], signed) == "altered"


@pytest.mark.parametrize("tail", [b"\n", b" ", b"% hello\n", b"\0"])
def test_one_appended_byte_is_noticed(signed: Signed, tail: bytes) -> None:
    assert verdict(signed.pdf + tail, signed) == "not_whole_file"


def with_addition(pdf: bytes) -> bytes:
    """Something added behind the signature, as PDF readers add notes."""
    writer = IncrementalPdfFileWriter(io.BytesIO(pdf))
    writer.root["/Extra"] = writer.add_object(TextStringObject("added later"))
    writer.update_root()  # type: ignore[no-untyped-call]
    out = io.BytesIO()
    writer.write(out)  # type: ignore[no-untyped-call]
    return out.getvalue()


def saved_again(pdf: bytes) -> bytes:
    """The file as another tool writes it."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        opened.save(out)
    return out.getvalue()


@pytest.mark.parametrize("change", [with_addition, saved_again, lambda pdf: pdf[:-20]])
def test_any_other_change_is_noticed(signed: Signed, change: Callable[[bytes], bytes]) -> None:
    assert verdict(change(signed.pdf), signed) is not None


def test_the_file_forbids_a_second_signature(signed: Signed) -> None:
    writer = IncrementalPdfFileWriter(io.BytesIO(signed.pdf))
    signer = PdfSigner(PdfSignatureMetadata(field_name="Second"), signer_of(signed.key))
    with pytest.raises(SigningError):
        signer.sign_pdf(writer)


@pytest.mark.parametrize(
    ("pdf", "why"),
    [(b"", "unreadable"), (b"%PDF-1.7\n", "unreadable"), (b"\0" * 999, "unreadable")],
)
def test_what_is_no_pdf_is_told_as_such(signed: Signed, pdf: bytes, why: str) -> None:
    assert verdict(pdf, signed) == why


def test_an_unsigned_file_is_told_as_such(signed: Signed) -> None:
    assert verdict(unsigned(), signed) == "not_signed"


def test_a_huge_file_is_not_even_read(signed: Signed, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(checking, "LARGEST_FILE", 100)
    assert verdict(signed.pdf, signed) == "too_large"


def test_another_shops_key_is_not_trusted(signed: Signed, tmp_path: Path) -> None:
    folder = found_authority(tmp_path, "Brook Lane Frames", NOW)
    other = signed_with(open_key(folder, None, NOW))
    assert verdict(other, signed) == "not_trusted"
    assert check(other, [authority_pem(folder)], NOW).unaltered
    assert check(other, [signed.authority, authority_pem(folder)], NOW).unaltered
    assert check(other, [], NOW).why_not == "not_trusted"


def test_an_expired_signer_is_told_as_such(signed: Signed) -> None:
    late = NOW + timedelta(days=365 * SIGNER_YEARS + 1)
    assert check(signed.pdf, [signed.authority], late).why_not == "signer_expired"
