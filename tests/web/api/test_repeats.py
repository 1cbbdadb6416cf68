"""A write that is sent again with its key is done once; another body under the key is refused."""

from app.services import customers
from tests.web.api.client import Api

BODY = {"name": "Åse Invented"}


def ask(api: Api, key: str, body: object = None, path: str = "/customers") -> tuple[int, str]:
    answer = api.as_role("desk").ask("POST", path, body or BODY, headers={"Idempotency-Key": key})
    return answer.status_code, answer.text


def test_the_same_write_is_done_once_and_answered_alike(api: Api) -> None:
    first = ask(api, "k1")
    assert first[0] == 201
    assert ask(api, "k1") == first
    with api.database.read() as session:
        assert len(customers.find(session, api.owner)) == 1
    assert ask(api, "k2")[1] != first[1]


def test_another_body_or_path_under_the_key_is_a_conflict(api: Api) -> None:
    ask(api, "k1")
    status, text = ask(api, "k1", {"name": "Somebody Else"})
    assert status == 409
    assert "idempotency_key_reused" in text
    assert ask(api, "k1", {"name": "x"}, "/machines")[0] in {409, 422}


def test_a_refused_write_leaves_its_key_free(api: Api) -> None:
    assert ask(api, "k1", {"nam": "x"})[0] == 422
    assert ask(api, "k1")[0] == 201


def test_a_key_of_one_token_is_not_that_of_another(api: Api) -> None:
    ask(api, "k1")
    other = api.as_role("owner").ask("POST", "/customers", BODY, headers={"Idempotency-Key": "k1"})
    assert other.status_code == 201


def test_a_key_that_is_none_is_refused(api: Api) -> None:
    for key in ("", "x" * 201):
        assert ask(api, key)[0] == 422
