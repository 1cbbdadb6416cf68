"""Keys that are trusted no more from a moment on: what then still speaks for a signature."""

import stat
from datetime import timedelta
from pathlib import Path

import pytest

from app.errors import Unavailable
from app.signing.checking import check_against
from app.signing.distrust import FILE, Distrust, distrust, distrusted
from app.signing.keys import open_key
from app.signing.profile import SIGNER_YEARS
from app.signing.renewal import renew_signer
from app.signing.trust import Trust, trust_of
from tests.databases import NOW
from tests.signing.conftest import Signed, Stamped
from tests.signing.pages import signed_with
from tests.signing.test_authority import folder

__all__ = ["folder"]

HOUR = timedelta(hours=1)
LATE = NOW + timedelta(days=365 * SIGNER_YEARS + 1)


def marked(stamped: Stamped, since: timedelta, *, stampers: bool = True) -> Trust:
    """Trust of a shop that trusts its signer no more from then on; signed and stamped at NOW."""
    entry = Distrust(stamped.signed.key.fingerprint, NOW + since, "stolen")
    return Trust(
        (stamped.signed.authority,),
        stampers=(stamped.time.pem.encode(),) if stampers else (),
        distrusted=(entry,),
    )


def test_without_a_stamp_no_signature_of_the_key_is_taken_whatever_time_it_states(
    stamped: Stamped,
) -> None:
    """The thief states any time: so also one of long before is not believed."""
    for since in (-HOUR, HOUR, timedelta(days=300)):
        found = check_against(stamped.signed.pdf, marked(stamped, since), NOW + 2 * HOUR)
        assert found.why_not == "signer_distrusted"


@pytest.mark.parametrize(
    ("since", "why"),
    [(-HOUR, "signer_distrusted"), (timedelta(), "signer_distrusted"), (HOUR, None)],
)
def test_a_trusted_stamp_of_before_speaks_for_the_signature(
    stamped: Stamped, since: timedelta, why: str | None
) -> None:
    assert check_against(stamped.pdf, marked(stamped, since), NOW + 2 * HOUR).why_not == why


def test_a_stamp_that_nobody_trusts_does_not(stamped: Stamped) -> None:
    trust = marked(stamped, HOUR, stampers=False)
    assert check_against(stamped.pdf, trust, NOW + 2 * HOUR).why_not == "signer_distrusted"


def test_it_is_told_before_the_signer_has_expired_and_after(stamped: Stamped) -> None:
    found = check_against(stamped.signed.pdf, marked(stamped, -HOUR), LATE)
    assert found.why_not == "signer_distrusted"
    assert check_against(stamped.pdf, marked(stamped, HOUR), LATE).unaltered


def test_an_altered_file_is_altered_all_the_same(stamped: Stamped) -> None:
    found = check_against(stamped.pdf + b"\n", marked(stamped, HOUR), NOW)
    assert found.why_not == "not_whole_file"


def test_a_marked_key_does_not_sign_and_a_renewed_one_does(folder: Path, signed: Signed) -> None:
    entry = Distrust(signed.key.fingerprint, NOW, "the machine was stolen")
    distrust(folder, entry)
    assert stat.S_IMODE((folder / FILE).stat().st_mode) == 0o600
    assert distrusted(folder) == (entry,)
    with pytest.raises(Unavailable, match="signing_key_distrusted"):
        open_key(folder, None, NOW)
    renew_signer(folder, "Brook Lane Frames", None, NOW)
    new = signed_with(open_key(folder, None, NOW))
    assert check_against(new, trust_of(folder), NOW).unaltered
    assert check_against(signed.pdf, trust_of(folder), NOW).why_not == "signer_distrusted"


def test_of_two_moments_the_earlier_stands(folder: Path, signed: Signed) -> None:
    for since in (NOW, NOW - HOUR, NOW + HOUR):
        distrust(folder, Distrust(signed.key.fingerprint, since, f"{since}"))
    (held,) = distrusted(folder)
    assert held.since == NOW - HOUR
