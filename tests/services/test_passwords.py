"""Passwords: which are taken, how they are kept, what a wrong one costs."""

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from app.errors import BadInput
from app.services.common_passwords import WORDS, is_common
from app.services.passwords import PASSWORDS, Passwords, check_rules, one_time_password
from tests.databases import CHEAP


def problem(password: str, *own_words: str) -> str | None:
    try:
        check_rules(password, "new_password", *own_words)
    except BadInput as error:
        return " ".join(fault.code for fault in error.problems)
    return None


@pytest.mark.parametrize(
    ("password", "code"),
    [
        ("", "password_too_short"),
        ("eleven sign", "password_too_short"),
        ("twelve signs", None),
        ("x9" + "four lamps " * 11 + "ends", None),
        ("x" * 129, "password_too_long"),
        ("four lamps by the canal " * 5 + "in May 8", None),
        ("four lamps by the canal " * 5 + "in May 88", "password_too_long"),
        ("四盏灯在运河边上闪闪发光啊", None),
        ("no-rule-asks-for-capitals", None),
    ],
)
def test_length_counts_signs_and_nothing_else_is_asked(password: str, code: str | None) -> None:
    assert problem(password) == code


COMMON = (
    "password1234", "Password2024!", "P@ssw0rd1234", "qwertyuiop12", "aaaaaaaaaaaa",
    "abcabcabcabc", "motorcycle2026!", "iloveyou2020!!", "123456789012", "210987654321",
    "letmeinplease1", "1qaz2wsx3edc", "Welcome12345", "jigbookjigbook", "superman  1980",
    "monday19740312", "zxcvbnmasdfg", "WORKSHOPWORKSHOP",
)  # fmt: skip


@pytest.mark.parametrize("password", COMMON)
def test_a_password_of_usual_words_runs_and_years_is_refused(password: str) -> None:
    assert problem(password) == "password_common"


def test_every_long_usual_word_with_a_year_is_refused() -> None:
    long = [word for word in WORDS if len(word) > 6]
    assert len(long) > 30
    assert [word for word in long if not is_common(f"{word.title()}2026!!")] == []


@pytest.mark.parametrize(
    "password",
    ["four lamps by the canal", "83920447192515", "Zweiundvierzig Schrauben", "tQ8#vL2!mZ0x"],
)
def test_a_password_of_its_own_is_taken(password: str) -> None:
    assert problem(password) is None


def test_the_persons_own_names_make_no_password() -> None:
    assert problem("annemarie-1975!") is None
    assert problem("annemarie-1975!", "annemarie", "Berg") == "password_common"
    assert problem("Bérg+Annemarie 75", "annemarie", "Berg") == "password_common"


def test_a_password_is_verified_exactly() -> None:
    stored = CHEAP.hash("four lamps by the canal ")
    assert CHEAP.verify("four lamps by the canal ", stored)
    for other in ("four lamps by the canal", "Four lamps by the canal ", "", "x" * 10_000):
        assert not CHEAP.verify(other, stored)
    assert CHEAP.verify("a" * 128, CHEAP.hash("a" * 128))
    assert not CHEAP.verify("a" * 129, CHEAP.hash("a" * 128))


def test_hashes_in_use_are_argon2id_at_the_recommended_costs() -> None:
    stored = PASSWORDS.hash("four lamps by the canal")
    assert stored.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert PASSWORDS.verify("four lamps by the canal", stored)
    assert not PASSWORDS.outdated(stored)
    assert PASSWORDS.outdated(CHEAP.hash("four lamps by the canal"))


def test_an_unknown_person_costs_the_same_work(monkeypatch: pytest.MonkeyPatch) -> None:
    verified: list[str] = []
    counting = Passwords(1, 8, 1)
    inner = counting._hasher.verify

    def count(password: str | bytes, stored: str | bytes) -> bool:
        verified.append(str(stored)[:9])
        return inner(password, stored)

    monkeypatch.setattr(counting._hasher, "verify", count)
    assert not counting.verify("anything at all", None)
    assert not counting.verify("anything at all", counting.hash("something else"))
    assert verified == ["$argon2id", "$argon2id"]


def test_at_most_two_hashes_are_worked_on_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    few = Passwords(1, 8, 1)
    inner, lock = few._hasher.hash, threading.Lock()
    now, most = 0, 0
    gate = threading.Event()

    def count(password: str | bytes) -> str:
        nonlocal now, most
        with lock:
            now, most = now + 1, max(most, now + 1)
        gate.wait(0.05)
        with lock:
            now -= 1
        return inner(password)

    monkeypatch.setattr(few._hasher, "hash", count)
    with ThreadPoolExecutor(6) as threads:
        assert len(list(threads.map(few.hash, ["a" * 12] * 6))) == 6
    assert most == 2


def test_one_time_passwords_differ_and_pass_the_rules() -> None:
    given = {one_time_password() for _ in range(200)}
    assert len(given) == 200
    assert all(len(password) == 19 and problem(password) is None for password in given)
    assert set("".join(given)).isdisjoint("ilo01")
