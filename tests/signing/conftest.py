"""One authority and one signed page for all tests of this room."""

from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import pytest

from app.signing.authority import authority_pem, found_authority
from app.signing.keys import SigningKey, open_key
from app.signing.trust import Trust
from tests.databases import NOW
from tests.signing.pages import signed_with
from tests.signing.time_authority import TimeAuthority, made, put_in_place


@dataclass(frozen=True)
class Signed:
    folder: Path
    key: SigningKey
    authority: bytes
    pdf: bytes


@pytest.fixture(scope="session")
def signed(tmp_path_factory: pytest.TempPathFactory) -> Signed:
    folder = found_authority(tmp_path_factory.mktemp("shop"), "Brook Lane Frames", NOW)
    key = open_key(folder, None, NOW)
    return Signed(folder, key, authority_pem(folder), signed_with(key))


@dataclass(frozen=True)
class Stamped:
    """The same page signed by the same key, with a time stamp."""

    signed: Signed
    time: TimeAuthority
    pdf: bytes

    def trust(self) -> Trust:
        return Trust((self.signed.authority,), stampers=(self.time.pem.encode(),))


@pytest.fixture(scope="session")
def time_authority() -> TimeAuthority:
    return made(NOW - timedelta(days=1))


@pytest.fixture(scope="session")
def stamped(signed: Signed, time_authority: TimeAuthority) -> Stamped:
    with pytest.MonkeyPatch.context() as patch:
        put_in_place(patch, time_authority, NOW)
        pdf = signed_with(signed.key, service=time_authority.service())
    return Stamped(signed, time_authority, pdf)
