"""Digests in groups, as one reads them out."""

from app.wording.digests import in_fours


def test_digests_stand_in_groups_of_four() -> None:
    assert in_fours("0123456789abcdef" * 4) == " ".join(["0123 4567 89ab cdef"] * 4)
    assert in_fours("0123456789abcdef01") == "0123 4567 89ab cdef 01"
    assert in_fours("stands on the certificate") == "stands on the certificate"
