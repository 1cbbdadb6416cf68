"""The steps that a recipient is told: the same everywhere, and as the tools themselves speak."""

from pathlib import Path

import pytest

from app.wording.how_to_check import of_certificate, of_register
from app.wording.signing_key import with_colons

README = Path(__file__).resolve().parents[2] / "README.md"
DIGEST = "ab01" * 16


@pytest.mark.checkout
def test_the_bundle_tells_the_commands_that_the_readme_tells() -> None:
    """Word by word: folder, names of files, and what the authority is trusted for."""
    readme = README.read_text(encoding="utf-8")
    steps = of_certificate("certificate.pdf", DIGEST, DIGEST, "In force.", "")
    (commands,) = [one.commands for one in steps if "mkdir trusted" in one.commands]
    assert len(commands) == 4
    assert "\n".join(commands) in readme


def test_a_fingerprint_also_stands_as_openssl_prints_it() -> None:
    assert with_colons("ab01ff") == "AB:01:FF"
    for steps in (of_certificate("c.pdf", DIGEST, DIGEST, "", ""), of_register(DIGEST)):
        (told,) = [one.lines for one in steps if any("-fingerprint" in c for c in one.commands)]
        assert any(with_colons(DIGEST) in line for line in told)
