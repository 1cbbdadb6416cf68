"""One authority and one signed page for all tests of this room."""

from dataclasses import dataclass
from pathlib import Path

import pytest

from app.signing.authority import authority_pem, found_authority
from app.signing.keys import SigningKey, open_key
from tests.databases import NOW
from tests.signing.pages import signed_with


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
