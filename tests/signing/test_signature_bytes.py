"""The bytes of a signature, put together by us: as the library would have encoded them."""

import pytest
from asn1crypto.cms import ContentInfo, SignedData  # type: ignore[import-untyped]
from asn1crypto.core import OctetString  # type: ignore[import-untyped]

from app.signing.signature import encoded


def with_padding(length: int) -> ContentInfo:
    """Something of the kind, whose length is chosen."""
    inside = {"content_type": "data", "content": OctetString(b"x" * length)}
    signed = SignedData(
        {
            "version": "v1",
            "digest_algorithms": [{"algorithm": "sha256"}],
            "encap_content_info": inside,
            "signer_infos": [],
        }
    )
    return ContentInfo({"content_type": "signed_data", "content": signed})


@pytest.mark.parametrize("length", [0, 60, 70, 80, 90, 100, 200, 300, 1000, 70_000])
def test_they_are_the_librarys_own(length: int) -> None:
    assert encoded(with_padding(length)) == with_padding(length).dump()


def test_a_length_that_ends_in_80_is_a_length() -> None:
    """Every length of a row of 256, that one among them."""
    for length in range(256, 512):
        read = ContentInfo.load(encoded(with_padding(length)), strict=True)
        assert len(read["content"]["encap_content_info"]["content"].native) == length
