"""What goes to the worker process and comes back: plain values, light to import."""

from dataclasses import dataclass, field
from datetime import datetime

from app.documents.content import CertificateContent
from app.errors import Fact, Unavailable
from app.signing.keys import SigningKey
from app.signing.time_stamp_service import Service


@dataclass(frozen=True, slots=True)
class Order:
    """Everything that one certificate is made from."""

    content: CertificateContent
    data: bytes
    key: SigningKey
    box: tuple[str, ...]
    """Lines of the visible signature."""
    reason: str
    when: datetime
    service: Service | None = None
    """Who stamps the signature with the time, where the shop wants that."""
    pictures: dict[str, bytes] = field(default_factory=dict)
    """The photos of the content by their names, as the shop keeps them."""


@dataclass(frozen=True, slots=True)
class Made:
    """A signed certificate."""

    pdf: bytes
    time_stamp: str | None
    """As in the register: `stamped`, `unreachable`, or None where none was asked."""


@dataclass(frozen=True, slots=True)
class Failed:
    """An error of the program as a value, since errors do not cross between processes whole."""

    code: str
    feature: str | None
    facts: dict[str, Fact]

    def error(self) -> Unavailable:
        """The error again."""
        return Unavailable(self.code, self.feature, **self.facts)
