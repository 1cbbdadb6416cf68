"""Sending back through the API: what the job then says, who may, what is refused."""

import pytest

from tests.web.api.client import Api
from tests.web.api.test_measuring import BEFORE, earlier, job

__all__ = ["job"]

WHY, SAID = "Were the adjusters the same?", "Yes, both at mark 4."


@pytest.fixture
def measured(api: Api, job: str) -> str:
    """A job that something can be asked about."""
    api.as_role("technician").made("POST", f"/jobs/{job}/surveys", earlier(BEFORE))
    return job


def test_a_reason_and_an_answer_are_told_in_their_order(api: Api, measured: str) -> None:
    inspector, technician = api.as_role("inspector"), api.as_role("technician")
    path = f"/jobs/{measured}"
    sent = inspector.made("POST", f"{path}/send-back", {"reason": WHY}, 200)
    assert (sent["waits_for"], sent["sent_back"]["why"]) == ("technician", WHY)
    (line,) = technician.get("/jobs?waits_for=technician")["items"]
    assert line["sent_back"] is True
    answered = technician.made("POST", f"{path}/answer", {"answer": SAID}, 200)
    assert answered["sent_back"] is None
    told = api.as_role("desk").get(f"{path}/exchanges")["items"]
    assert [(one["kind"], one["words"]) for one in told] == [("sent_back", WHY), ("answered", SAID)]


def test_what_cannot_be_sent_back_or_answered_is_refused(api: Api, job: str) -> None:
    inspector = api.as_role("inspector")
    early = inspector.ask("POST", f"/jobs/{job}/send-back", {"reason": WHY})
    assert (early.status_code, early.json()["code"]) == (409, "nothing_to_send_back")
    unasked = inspector.ask("POST", f"/jobs/{job}/answer", {"answer": SAID})
    assert (unasked.status_code, unasked.json()["code"]) == (409, "not_sent_back")


@pytest.mark.parametrize("role", ["desk", "technician", "owner"])
def test_only_an_inspectors_token_sends_back(api: Api, measured: str, role: str) -> None:
    refused = api.as_role(role).ask("POST", f"/jobs/{measured}/send-back", {"reason": WHY})
    assert refused.status_code == 403
