"""Fills an empty database with the demonstration shop."""

import heapq
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from itertools import count
from pathlib import Path

from app.demonstration import cast
from app.demonstration.shopfloor import Shopfloor
from app.demonstration.stories import ACTS, STORIES
from app.errors import Unavailable
from app.records.session import Database
from app.services import people
from app.services.joining import OneTimePassword, add_person, first_start
from app.services.passwords import PASSWORDS, Passwords, one_time_password
from app.services.permissions import Actor, Role
from app.services.press import Press
from app.services.sign_in import change_password
from app.settings import own_time_zone

QUICK = Passwords(time_cost=1, memory_kib=8, lanes=1)
"""For one-time passwords that are changed in the next moment and never given to anybody."""

Tell = Callable[[int, int], None]
"""Told how many of how many acts are done."""


@dataclass(frozen=True, slots=True)
class Access:
    """How to get in as one of the people."""

    name: str
    sign_in_name: str
    role: str
    password: str


@dataclass(frozen=True, slots=True)
class Demonstration:
    people: tuple[Access, ...]
    jobs: int
    claim_job: str | None
    claim_token: str | None
    """Of the claim view of `claim_job`; like the passwords kept nowhere else in the clear."""
    no_certificates: Unavailable | None
    """Why there are no certificates, when this machine cannot make PDFs."""


class NotEmpty(RuntimeError):
    """The database has people already: a mistake in the program."""


def fill(
    database: Database,
    data_dir: Path,
    now: datetime,
    tell: Tell = lambda done, of: None,
    passwords: Passwords = PASSWORDS,
    press: Press | None = None,
) -> Demonstration:
    """Makes the shop, its people and its jobs as of `now`, all through the services.

    press: given by tests; else one that works in this process, for these few certificates.
    """
    secrets = {member.role: one_time_password() for member in cast.MEMBERS}
    actors = _people(database, secrets, now, passwords)
    press = press or Press(data_dir, own_process=False)
    try:
        floor = Shopfloor(database, actors, secrets, press, now, passwords)
        floor.furnish()
        _tell_stories(floor, tell)
    finally:
        press.close()
    return Demonstration(
        people=tuple(
            Access(one.name, one.sign_in_name, one.role, secrets[one.role]) for one in cast.MEMBERS
        ),
        jobs=len(floor.jobs),
        claim_job=floor.claim_job,
        claim_token=floor.claim_token,
        no_certificates=floor.no_certificates,
    )


def _tell_stories(floor: Shopfloor, tell: Tell) -> None:
    """Lets all stories happen together, each act at its own moment."""
    stories = [begin(floor) for begin in STORIES]
    waiting = [(next(story), number) for number, story in enumerate(stories)]
    heapq.heapify(waiting)
    for done in count():
        tell(done, ACTS)
        if not waiting:
            return
        floor.now, number = heapq.heappop(waiting)
        following = next(stories[number], None)
        if following is not None:
            heapq.heappush(waiting, (following, number))


def _people(
    database: Database, secrets: dict[str, str], now: datetime, passwords: Passwords
) -> dict[str, Actor]:
    """The owner first, who lets the others join; each with a password of their own."""
    first = first_start(database, now, cast.SHOP, cast.OWNER.sign_in_name, QUICK, own_time_zone())
    if first is None:
        raise NotEmpty
    owner = Actor(first.shop_id, cast.OWNER.name, frozenset(Role), person_id=first.person_id)
    joined = {"owner": first}
    for member in cast.MEMBERS[1:]:
        roles = frozenset({Role(member.role)})
        joined[member.role] = add_person(
            database, owner, member.sign_in_name, member.name, roles, now, member.title,
            passwords=QUICK,
        )  # fmt: skip
    with database.write() as session:
        people.change_person(
            session, owner, first.person_id, cast.OWNER.name, cast.OWNER.title, "", now
        )
        people.set_roles(session, owner, first.person_id, frozenset({Role.OWNER}), now)
    return {
        member.role: _with_password(
            database, member, joined[member.role], secrets[member.role], now, passwords
        )
        for member in cast.MEMBERS
    }


def _with_password(
    database: Database,
    member: cast.Member,
    joined: OneTimePassword,
    password: str,
    now: datetime,
    passwords: Passwords,
) -> Actor:
    actor = Actor(
        joined.shop_id, member.name, frozenset({Role(member.role)}), person_id=joined.person_id
    )
    change_password(database, actor, joined.password, password, now, passwords=passwords)
    return actor
