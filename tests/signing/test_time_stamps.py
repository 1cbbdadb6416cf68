"""Time stamps: what they prove when the signer has expired, and what happens without one."""

import io
import urllib.error
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from asn1crypto import cms, tsp  # type: ignore[import-untyped]
from pyhanko.pdf_utils.reader import PdfFileReader

from app.errors import BadInput, Unavailable
from app.signing.checking import check, check_against
from app.signing.profile import SIGNER_YEARS
from app.signing.signature import stamper_for
from app.signing.signed_data import stamp_of
from app.signing.time_stamp_service import Service, check_service, service_of, set_service
from app.signing.trust import STAMPERS, Trust, trust_of
from tests.databases import NOW
from tests.signing.conftest import Signed, Stamped
from tests.signing.pages import signed_with
from tests.signing.test_authority import folder
from tests.signing.time_authority import TimeAuthority, made, put_in_place

__all__ = ["folder"]

LATE = NOW + timedelta(days=365 * SIGNER_YEARS + 1)


@pytest.fixture(autouse=True)
def no_stamper_kept() -> None:
    """A stamper keeps the size of the stamps that it saw; each test has its own."""
    stamper_for.cache_clear()


def signature_of(pdf: bytes) -> tuple[cms.SignerInfo, cms.SignedData, Any]:
    (embedded,) = PdfFileReader(io.BytesIO(pdf)).embedded_signatures
    return embedded.signer_info, embedded.signed_data, embedded.sig_object


def test_the_signature_is_baseline_b_b_and_with_a_stamp_b_t(
    signed: Signed, stamped: Stamped
) -> None:
    """ETSI EN 319 142-1, clause 6.3, from memory: exactly these signed attributes, /M for the
    time that the signer states, and for B-T one unsigned attribute, the signature's stamp."""
    for pdf, unsigned in ((signed.pdf, []), (stamped.pdf, ["signature_time_stamp_token"])):
        signer, data, entry = signature_of(pdf)
        assert {one["type"].native for one in signer["signed_attrs"]} == {
            "content_type",
            "message_digest",
            "signing_certificate_v2",
        }
        assert [one["type"].native for one in signer["unsigned_attrs"]] == unsigned
        assert signer["digest_algorithm"]["algorithm"].native == "sha256"
        assert len(data["certificates"]) == 2, "signer and authority"
        assert entry["/SubFilter"] == "/ETSI.CAdES.detached"
        assert "/M" in entry
        (reference,) = entry["/Reference"]
        assert reference["/TransformMethod"] == "/DocMDP"
        assert reference["/TransformParams"]["/P"] == 1


def test_a_stamp_is_told_and_trusted_only_by_its_own_authority(stamped: Stamped) -> None:
    found = check_against(stamped.pdf, stamped.trust(), NOW)
    assert found.unaltered
    assert found.stamp is not None
    assert (found.stamp.at, found.stamp.by) == (NOW, "Invented Time Stamps")
    assert found.stamp.trusted
    stranger = check(stamped.pdf, [stamped.signed.authority], NOW)
    assert stranger.unaltered, "the signer is trusted and valid now"
    assert stranger.stamp is not None
    assert not stranger.stamp.trusted
    by_shop = Trust((stamped.signed.authority,), stampers=(stamped.signed.authority,))
    shop_alone = check_against(stamped.pdf, by_shop, NOW)
    assert shop_alone.stamp is not None
    assert not shop_alone.stamp.trusted, "the shop's own authority vouches for no time"


def test_an_expired_signer_is_trusted_through_a_trusted_stamp_alone(
    signed: Signed, stamped: Stamped
) -> None:
    assert check_against(stamped.pdf, stamped.trust(), LATE).unaltered
    bare = Trust((signed.authority,), stampers=(stamped.time.pem.encode(),))
    assert check_against(signed.pdf, bare, LATE).why_not == "signer_expired"
    without = check(stamped.pdf, [signed.authority], LATE)
    assert without.why_not == "signer_expired", "a stamp of nobody trusted shows nothing"


def test_a_stamp_made_after_the_signer_had_expired_shows_nothing(
    signed: Signed, time_authority: TimeAuthority, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_in_place(monkeypatch, time_authority, LATE)
    pdf = signed_with(signed.key, service=time_authority.service())
    trust = Trust((signed.authority,), stampers=(time_authority.pem.encode(),))
    found = check_against(pdf, trust, LATE)
    assert found.why_not == "signer_expired"


def test_a_stamp_whose_own_certificate_has_expired_shows_nothing(
    signed: Signed, monkeypatch: pytest.MonkeyPatch
) -> None:
    short = made(NOW - timedelta(days=1), NOW + timedelta(days=100))
    put_in_place(monkeypatch, short, NOW)
    pdf = signed_with(signed.key, service=short.service())
    trust = Trust((signed.authority,), stampers=(short.pem.encode(),))
    assert check_against(pdf, trust, NOW).unaltered
    assert check_against(pdf, trust, LATE).why_not == "signer_expired"


def test_before_the_signers_time_it_is_told_that_the_clock_is_wrong(signed: Signed) -> None:
    early = check(signed.pdf, [signed.authority], NOW - timedelta(days=1))
    assert early.why_not == "signer_not_yet_valid"


def test_an_unreachable_service_is_told_and_nothing_is_signed(
    signed: Signed, time_authority: TimeAuthority, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unreachable(stamper: object, query: bytes) -> bytes:
        raise urllib.error.URLError("no route")

    monkeypatch.setattr("app.signing.time_stamps.Stamper.posted", unreachable)
    with pytest.raises(Unavailable, match="time_stamp_unreachable") as caught:
        signed_with(signed.key, service=time_authority.service())
    assert "no route" in str(caught.value.facts["reason"])


@pytest.mark.parametrize("content", [b"", b"<html>busy</html>", b"0\x03\x02\x01\x02"])
def test_an_answer_that_is_no_stamp_is_refused(
    signed: Signed,
    time_authority: TimeAuthority,
    monkeypatch: pytest.MonkeyPatch,
    content: bytes,
) -> None:
    monkeypatch.setattr("app.signing.time_stamps.Stamper.posted", lambda stamper, query: content)
    with pytest.raises(Unavailable, match="time_stamp_unreachable"):
        signed_with(signed.key, service=time_authority.service())


def test_a_stamp_on_another_digest_is_refused(
    signed: Signed, time_authority: TimeAuthority, monkeypatch: pytest.MonkeyPatch
) -> None:
    answers = time_authority.answers(NOW)

    def of_another(stamper: object, query: bytes) -> bytes:
        request = tsp.TimeStampReq.load(query)
        request["message_imprint"]["hashed_message"] = bytes(32)
        return bytes(answers.response(request).dump())

    monkeypatch.setattr("app.signing.time_stamps.Stamper.posted", of_another)
    with pytest.raises(Unavailable, match="time_stamp_unreachable"):
        signed_with(signed.key, service=time_authority.service())


def test_a_stamp_of_another_authority_is_refused(
    signed: Signed, time_authority: TimeAuthority, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_in_place(monkeypatch, made(NOW - timedelta(days=1)), NOW)
    with pytest.raises(Unavailable, match="time_stamp_unreachable"):
        signed_with(signed.key, service=time_authority.service())


def test_the_stamp_holds_its_chain_and_nothing_else(stamped: Stamped) -> None:
    _signer, data, _entry = signature_of(stamped.pdf)
    whole = cms.ContentInfo({"content_type": "signed_data", "content": data})
    stamp = stamp_of(whole)
    assert stamp is not None
    held = [one.chosen.subject.native["common_name"] for one in stamp["content"]["certificates"]]
    assert sorted(held) == ["Invented Time Middle", "Invented Time Root", "Invented Time Stamps"]


def test_the_folder_of_keys_names_the_service(folder: Path, time_authority: TimeAuthority) -> None:
    assert service_of(folder) is None
    set_service(folder, time_authority.service("sign_without"))
    assert service_of(folder) == time_authority.service("sign_without")
    trusted = trust_of(folder).stampers
    assert time_authority.pem.encode() in trusted[0]
    set_service(folder, None)
    assert service_of(folder) is None
    assert trust_of(folder).stampers == trusted, "what it stamped stays verifiable"


@pytest.mark.parametrize("address", ["", "stamps.example", "file:///etc/passwd", "ftp://a/b"])
def test_only_web_addresses_are_asked(time_authority: TimeAuthority, address: str) -> None:
    with pytest.raises(BadInput, match="time_stamp_address"):
        check_service(Service(address, "refuse", time_authority.pem))


def test_the_authority_must_be_signed_by_itself(time_authority: TimeAuthority) -> None:
    from_between = time_authority.service()
    for text in ("", "no certificate", STAMPERS):
        with pytest.raises(BadInput, match="time_stamp_authority"):
            check_service(Service(from_between.address, "refuse", text))
