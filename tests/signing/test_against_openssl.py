"""Our signature as `openssl cms -verify` sees it: the signed ranges and the signature, cut out.

It looks at the ranges alone, so that what is appended passes there; our rule looks at the file.
"""

import io
import subprocess
from datetime import UTC, datetime
from pathlib import Path

import pikepdf
import pytest

from app.signing.authority import authority_pem, found_authority
from app.signing.checking import check
from app.signing.keys import open_key
from app.signing.renewal import renew_authority
from tests.signing.conftest import Signed
from tests.signing.pages import signed_with
from tests.signing.test_checking import changed, gap_of


@pytest.fixture(scope="module", params=["ec-p256", "rsa-3072"])
def signed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Signed:
    """OpenSSL goes by the clock of the machine."""
    now = datetime.now(UTC)
    folder = found_authority(tmp_path_factory.mktemp("shop"), "Brook Lane Frames", now)
    if request.param == "rsa-3072":
        renew_authority(folder, "Brook Lane Frames", None, now, "rsa-3072")
    key = open_key(folder, None, now)
    return Signed(folder, key, authority_pem(folder), signed_with(key, now))


def says(pdf: bytes, authority: bytes, folder: Path) -> tuple[bool, str]:
    """Whether OpenSSL takes it, and its words."""
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        ranges = [int(one) for one in opened.Root.AcroForm.Fields[0].V.ByteRange]
    start, end = ranges[1], ranges[2]
    (folder / "content").write_bytes(pdf[:start] + pdf[end : end + ranges[3]])
    (folder / "signature").write_bytes(bytes.fromhex(pdf[start + 1 : end - 1].decode()))
    (folder / "authority.pem").write_bytes(authority)
    command = (
        "openssl cms -verify -inform DER -in signature -content content -binary"
        " -CAfile authority.pem -out taken"
    )
    done = subprocess.run(command.split(), cwd=folder, capture_output=True, text=True, check=False)
    return done.returncode == 0, done.stderr


def test_both_take_what_was_signed(signed: Signed, tmp_path: Path) -> None:
    assert says(signed.pdf, signed.authority, tmp_path)[0]
    assert check(signed.pdf, [signed.authority], datetime.now(UTC)).unaltered


def test_both_refuse_a_changed_byte(signed: Signed, tmp_path: Path) -> None:
    start, _end = gap_of(signed.pdf)
    altered = changed(signed.pdf, start // 2)
    taken, words = says(altered, signed.authority, tmp_path)
    assert not taken
    assert "content verify error" in words
    assert not check(altered, [signed.authority], datetime.now(UTC)).unaltered


def test_both_refuse_the_key_of_another_shop(
    signed: Signed, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    now = datetime.now(UTC)
    other = authority_pem(found_authority(tmp_path_factory.mktemp("other"), "Other", now))
    assert not says(signed.pdf, other, tmp_path)[0]
    assert check(signed.pdf, [other], now).why_not == "not_trusted"


def test_only_our_rule_sees_what_is_appended(signed: Signed, tmp_path: Path) -> None:
    appended = signed.pdf + b"\n"
    assert says(appended, signed.authority, tmp_path)[0]
    assert check(appended, [signed.authority], datetime.now(UTC)).why_not == "not_whole_file"
