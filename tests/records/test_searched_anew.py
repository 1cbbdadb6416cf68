"""What was searchable before words were found from their beginning is found afterwards."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from app import resources
from app.records.migrating import upgrade
from app.records.search_text import search_text


@pytest.fixture
def before(tmp_path: Path) -> Path:
    """The steps up to the one before."""
    folder = tmp_path / "steps" / "versions"
    folder.mkdir(parents=True)
    for file in [*resources.migrations().rglob("*.py")]:
        place = tmp_path / "steps" / file.relative_to(resources.migrations())
        if not ("0019" <= file.name < "a"):
            place.write_bytes(file.read_bytes())
    return tmp_path / "steps"


def test_search_texts_are_made_anew(tmp_path: Path, before: Path) -> None:
    file = tmp_path / "shop.db"
    upgrade(f"sqlite:///{file}", before)
    with closing(sqlite3.connect(file)) as database:
        columns = database.execute("PRAGMA table_info(shop)").fetchall()
        needed = {name: kind for _i, name, kind, must, *_rest in columns if must}
        fit: dict[str, object] = {"TEXT": "", "REAL": 0.95, "INTEGER": 1}
        values = [fit[kind] for kind in needed.values()]
        marks = ", ".join("?" for _ in needed)
        database.execute(f"INSERT INTO shop ({', '.join(needed)}) VALUES ({marks})", values)
        database.execute(
            "INSERT INTO customer (id, shop_id, name, address, phone, email, note, search_text, "
            "created_at, version) VALUES (1, 1, 'Mønster (invented)', '', '+00 12-3', "
            "'m@example.invalid', '', 'mønster (invented) +00 12-3 +00123 m@example.invalid', "
            "'2026-03-02T08:00:00.000000Z', 1)"
        )
        database.commit()
    upgrade(f"sqlite:///{file}")
    with closing(sqlite3.connect(file)) as database:
        ((found,),) = database.execute("SELECT search_text FROM customer").fetchall()
    new = search_text("Mønster (invented)", marks=("+00 12-3",), beside=("m@example.invalid",))
    assert found == new
    assert found.startswith(" monster ")
    assert found.endswith(" @ m example invalid mexampleinvalid ")
