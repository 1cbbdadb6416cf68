"""Passwords: hashed with argon2id, checked against plain rules, made at random for a start.

Hashing is slow on purpose. At most two run at once, and none inside a writing unit: the services
that need one take the `Database` and hash between their own short units.
"""

import secrets
import threading

from pwdlib.hashers.argon2 import Argon2Hasher

from app.errors import BadInput, Problem
from app.services.common_passwords import is_common

SHORTEST = 12
LONGEST = 128
AT_ONCE = 2
_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"


class Passwords:
    """Hashes and verifies. The costs are pwdlib's recommendation unless told otherwise."""

    def __init__(self, time_cost: int = 3, memory_kib: int = 65_536, lanes: int = 4) -> None:
        self._hasher = Argon2Hasher(time_cost=time_cost, memory_cost=memory_kib, parallelism=lanes)
        self._few = threading.BoundedSemaphore(AT_ONCE)
        self._nobody: str | None = None

    def hash(self, password: str) -> str:
        with self._few:
            return self._hasher.hash(password)

    def verify(self, password: str, stored: str | None) -> bool:
        """Whether it is the password; for an unknown person the same work is done for nothing."""
        if len(password) > LONGEST:
            password, stored = password[:LONGEST], None
        if stored is None:
            self._verify(password, self._dummy())
            return False
        return self._verify(password, stored)

    def outdated(self, stored: str) -> bool:
        """Whether the hash was made with other costs than today's."""
        return self._hasher.check_needs_rehash(stored)

    def _verify(self, password: str, stored: str) -> bool:
        with self._few:
            return self._hasher.verify(password, stored)

    def _dummy(self) -> str:
        if self._nobody is None:
            self._nobody = self.hash(secrets.token_urlsafe(16))
        return self._nobody


PASSWORDS = Passwords()


def one_time_password() -> str:
    """Sixteen letters and digits that are not mistaken for each other, 79 bits, in groups."""
    letters = [secrets.choice(_LETTERS) for _ in range(16)]
    return "-".join("".join(letters[at : at + 4]) for at in range(0, 16, 4))


def check_rules(password: str, field: str, *own_words: str) -> None:
    """Raise BadInput unless the password may be used; every sign counts, none is changed.

    `own_words` are names that a guesser would try first.
    """
    problem = _problem(password, field, own_words)
    if problem is not None:
        raise BadInput([problem])


def _problem(password: str, field: str, own_words: tuple[str, ...]) -> Problem | None:
    if len(password) < SHORTEST:
        facts = {"met": len(password), "needed": SHORTEST}
        return Problem("password_too_short", field, facts)
    if len(password) > LONGEST:
        facts = {"met": len(password), "needed": LONGEST}
        return Problem("password_too_long", field, facts)
    if is_common(password, own_words):
        return Problem("password_common", field)
    return None
