"""People with passwords, made through the services, for tests of getting in."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from app.records.session import Database
from app.services.joining import add_person, first_start
from app.services.permissions import Actor, Role
from app.services.sign_in import change_password, sign_in
from tests.databases import CHEAP, NOW

PASSWORD = "four lamps by the canal"
OTHER_PASSWORD = "seven boats under a bridge"
ADDRESS = "192.0.2.7"


@dataclass
class Staff:
    """A shop after its first start; `owner` has changed the one-time password."""

    database: Database
    owner: Actor

    def sign_in(
        self, name: str, password: str = PASSWORD, at: datetime = NOW, address: str = ADDRESS
    ) -> Actor:
        return sign_in(self.database, name, password, address, at, CHEAP)

    def add(self, name: str, *roles: Role, at: datetime = NOW) -> Actor:
        """A person whose password is `PASSWORD`, signed in."""
        given = add_person(
            self.database, self.owner, name, name.title(), frozenset(roles), at, passwords=CHEAP
        )
        self.change(self.sign_in(name, given.password, at), given.password, PASSWORD, at)
        return self.sign_in(name, PASSWORD, at)

    def change(self, actor: Actor, current: str, new: str, at: datetime = NOW) -> None:
        change_password(self.database, actor, current, new, at, passwords=CHEAP)


def start(database: Database) -> Staff:
    """First start, the owner's own password, the owner signed in."""
    given = first_start(database, NOW, passwords=CHEAP)
    assert given is not None
    one_time = sign_in(database, given.sign_in_name, given.password, ADDRESS, NOW, CHEAP)
    staff = Staff(database, one_time)
    staff.change(one_time, given.password, PASSWORD)
    staff.owner = staff.sign_in("owner")
    return staff


def later(**span: float) -> datetime:
    """So much after the start."""
    return NOW + timedelta(**span)
