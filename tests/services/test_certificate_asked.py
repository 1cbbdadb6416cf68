"""A certificate's number as people write it, and the text of the code on paper."""

import pytest

from app.services.certificate_asked import Asked, asked

DIGEST = "ab" * 32


@pytest.mark.parametrize(
    "text",
    [
        "C-2026-0005",
        "c-2026-0005",
        "C 2026 0005",
        "  C-2026-0005\n",
        "c2026-5",
        "C\u20132026\u20130005",
        "https://frames.example/verify/C-2026-0005",
    ],
)
def test_a_number_is_known_however_it_is_written(text: str) -> None:
    assert asked(text) == Asked("C-2026-0005", None)


@pytest.mark.parametrize(
    "text",
    [
        f"C-2026-0005 sha256:{DIGEST}",
        f" c 2026 0005\nSHA256: {DIGEST[:32].upper()} {DIGEST[32:]} ",
        f"C-2026-0005, sha-256:{DIGEST}",
    ],
)
def test_the_text_of_the_code_holds_number_and_digest(text: str) -> None:
    assert asked(text) == Asked("C-2026-0005", DIGEST)


def test_a_digest_that_was_cut_off_is_still_one_that_was_named() -> None:
    assert asked("C-2026-0005 sha256:abab").data_sha256 == "abab"
    assert asked("C-2026-0005 sha256:").data_sha256 == ""


@pytest.mark.parametrize("text", ["J-2026-0005", "0005", "", "C-2026-0005 and more", "C-26-5"])
def test_what_is_no_number_is_taken_as_it_is(text: str) -> None:
    assert asked(text) == Asked(text, None)
