"""The program's own exceptions. No HTTP status and no sentence lives here.

Every error is a code, the feature or field it speaks of, and the facts (numbers and names)
from which `wording.errors` makes its three parts: what was met, what is needed, what to do.
"""

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

Fact = str | int | float | bool | None | tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong with one field, row or key of what was sent."""

    code: str
    field: str
    facts: Mapping[str, Fact] = dataclasses.field(default_factory=lambda: MappingProxyType({}))


class JigbookError(Exception):
    """Base of all errors that the program raises on purpose."""

    def __init__(self, code: str, feature: str | None = None, **facts: Fact) -> None:
        super().__init__(code)
        self.code = code
        self.feature = feature
        self.facts: Mapping[str, Fact] = MappingProxyType(dict(facts))

    def __str__(self) -> str:
        return " ".join([self.code, self.feature or "", str(dict(self.facts) or "")]).strip()


class Refusal(JigbookError):
    """The engine refuses a survey or a reference: it cannot give an honest answer."""


class BadInput(JigbookError):
    """What was sent cannot be taken; `problems` lists every field that is wrong."""

    def __init__(self, problems: Sequence[Problem], code: str = "bad_input") -> None:
        super().__init__(code, problems[0].field if problems else None)
        self.problems: tuple[Problem, ...] = tuple(problems)


class NotFound(JigbookError):
    """There is no such record in this shop."""


class Conflict(JigbookError):
    """The record is in a state, or was changed meanwhile, so that this cannot be done."""


class RefusedToIssue(Conflict):
    """A certificate cannot be issued; `reasons` lists every reason, not only the first."""

    def __init__(self, reasons: Sequence[Problem]) -> None:
        super().__init__("certificate_refused")
        self.reasons: tuple[Problem, ...] = tuple(reasons)


class NotSignedIn(JigbookError):
    """Nobody is signed in, or the session or token is over."""


class NotAllowed(JigbookError):
    """The person is signed in but their roles do not include this."""


class TooManyTries(JigbookError):
    """Throttled; `retry_after_s` says when to try again."""

    def __init__(self, code: str, retry_after_s: int) -> None:
        super().__init__(code, None, retry_after_s=retry_after_s)
        self.retry_after_s = retry_after_s


class Unavailable(JigbookError):
    """A part of the installation is missing or broken (Pango, the key file, the database)."""
