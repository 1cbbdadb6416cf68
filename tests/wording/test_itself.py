"""A report is no certificate, and does not call itself one."""

import pytest

from app.wording import itself


@pytest.mark.parametrize("what", itself.OF_CERTIFICATE)
def test_each_kind_calls_itself_by_its_own_name_and_says_the_same(what: str) -> None:
    certificate, report = itself.of(what, "completion"), itself.of(what, "report")
    assert certificate.lower().replace("certificate", "report") == report.lower()
    assert "certificate" not in report.lower()
    assert "report" not in certificate.lower()
