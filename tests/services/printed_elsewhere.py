"""Prints a job's certificate in a process of its own and says the digests of data and file.

Run by path with: database, data folder, shop, person, job, moment, and the year that the clock
shall show. It imports nothing of the tests.
"""

import hashlib
import locale
import sys
from datetime import UTC, datetime
from pathlib import Path

import time_machine

from app.documents.certificate import print_certificate
from app.records.session import Database
from app.services.certificate_photos import pictures_of
from app.services.composing import Wish, compose, tools_for
from app.services.issuing import NOT_YET
from app.services.permissions import Actor, Role
from app.services.press import Press


def main(file: str, folder: str, shop: str, person: str, job: str, at: str, year: str) -> None:
    locale.setlocale(locale.LC_ALL, "")
    actor = Actor(int(shop), "inspector", frozenset({Role.INSPECTOR}), person_id=int(person))
    wish = Wish(actor, job, "completion", datetime.fromisoformat(at), None, None, "")
    press = Press(Path(folder), "https://frames.example", own_process=False)
    database = Database(f"sqlite:///{file}")
    with time_machine.travel(datetime(int(year), 6, 1, 12, tzinfo=UTC)):
        with database.read() as session:
            made = compose(session, wish, tools_for(session, wish, press, None), NOT_YET)
            pictures = pictures_of(session, actor, made.content)
        pdf = print_certificate(made.content, made.data, pictures)
    database.close()
    for one in (made.data, pdf):
        sys.stdout.write(hashlib.sha256(one).hexdigest() + "\n")


main(*sys.argv[1:])
