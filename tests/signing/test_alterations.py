"""A certificate with its attachment, changed in each way that others have, by the strict rule."""

from collections.abc import Callable

import pytest

from app.documents.certificate import print_certificate
from app.signing.checking import check
from tests.databases import NOW
from tests.documents.examples import CONTENT
from tests.signing.alterations import (
    letting_forms_be_filled,
    saved_again,
    signed_loosely,
    signed_twice,
    with_annotation,
    with_other_attachment,
)
from tests.signing.conftest import Signed
from tests.signing.pages import signed_with, unsigned


@pytest.fixture(scope="module")
def certificate(signed: Signed) -> bytes:
    return signed_with(signed.key, NOW, print_certificate(CONTENT, b'{"finding":"not_within"}'))


def verdict(pdf: bytes, signed: Signed) -> str | None:
    return check(pdf, [signed.authority], NOW).why_not


def test_the_certificate_itself_is_accepted(certificate: bytes, signed: Signed) -> None:
    assert verdict(certificate, signed) is None


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda pdf: pdf + b"\n", "not_whole_file"),
        (lambda pdf: pdf + pdf, None),
        (with_annotation, "not_whole_file"),
        (with_other_attachment, "not_whole_file"),
        (saved_again, None),
        (lambda pdf: pdf[:-1], None),
    ],
)
def test_whatever_is_changed_is_noticed(
    certificate: bytes, signed: Signed, change: Callable[[bytes], bytes], why: str | None
) -> None:
    changed = change(certificate)
    assert changed != certificate
    found = verdict(changed, signed)
    assert found is not None
    assert why is None or found == why


def test_the_right_key_is_not_enough(signed: Signed) -> None:
    page = unsigned()
    assert verdict(signed_twice(page, signed.key), signed) == "several_signatures"
    assert verdict(signed_loosely(page, signed.key), signed) == "changes_allowed"
    assert verdict(letting_forms_be_filled(page, signed.key), signed) == "changes_allowed"
