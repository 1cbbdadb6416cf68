"""Migrations: the tables as the models know them, every row kept, all or nothing."""

import shutil
import sqlite3
from concurrent.futures import ThreadPoolExecutor, wait
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext

from app import resources
from app.errors import Unavailable
from app.records.migrating import WAITS_MS, newest_revision, revision, upgrade
from app.records.session import BUSY_TIMEOUT_MS, Database
from app.records.tables import Base, Customer, Machine
from tests.databases import NOW, migrate, new_shop


def url(file: Path) -> str:
    return f"sqlite:///{file}"


def query(file: Path, words: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(file)) as database:
        return database.execute(words).fetchall()


def row_counts(file: Path) -> dict[str, int]:
    names = [
        str(row[0]) for row in query(file, "SELECT name FROM sqlite_master WHERE type='table'")
    ]
    counts = {name: query(file, f'SELECT count(*) FROM "{name}"')[0][0] for name in names}
    return {name: int(str(count)) for name, count in counts.items() if name != "alembic_version"}


def structure(file: Path) -> dict[str, list[str]]:
    """Each table's and index's own lines, without their order; SQLite puts the name of a table
    that was rebuilt in quotes."""
    rows = query(file, "SELECT name, sql FROM sqlite_master WHERE name NOT LIKE '%alembic%'")
    return {
        str(name): sorted(
            line.strip().rstrip(",")
            for line in str(sql).replace(f'TABLE "{name}"', f"TABLE {name}").splitlines()
        )
        for name, sql in rows
    }


@pytest.fixture
def steps(tmp_path: Path) -> Path:
    """A copy of the steps, to which a test adds its own."""
    folder = tmp_path / "steps"
    shutil.copytree(resources.migrations(), folder)
    return folder


def add_step(folder: Path, body: str, number: str = "9001", after: str | None = None) -> None:
    lines = "\n".join(f"    {line}" for line in body.splitlines())
    (folder / "versions" / f"{number}_test.py").write_text(
        "import sqlalchemy as sa\nfrom alembic import op\n"
        f'revision = "{number}"\ndown_revision = "{after or newest_revision()}"\n'
        f"def upgrade() -> None:\n{lines}\n"
    )


@pytest.fixture
def filled(tmp_path: Path) -> Path:
    """A migrated database with rows that point to each other."""
    file = tmp_path / "filled.sqlite3"
    migrate(file)
    database = Database(url(file))
    shop_id = new_shop(database)
    for number in range(3):
        with database.write() as session:
            customer = Customer(shop_id=shop_id, name=f"Kim {number}", created_at=NOW)
            session.add(customer)
            session.flush()
            session.add(
                Machine(
                    shop_id=shop_id, customer_id=customer.id, make="Invented", model="One",
                    frame_number="X", created_at=NOW,
                )
            )  # fmt: skip
    database.close()
    return file


def test_the_migrations_make_the_tables_that_the_models_know(tmp_path: Path) -> None:
    upgrade(url(tmp_path / "migrated.sqlite3"))
    database = Database(url(tmp_path / "migrated.sqlite3"))
    with database.engine.connect() as connection:
        context = MigrationContext.configure(
            connection, opts={"compare_type": True, "compare_server_default": True}
        )
        assert compare_metadata(context, Base.metadata) == []
    database.close()


def test_the_migrations_make_every_check_and_index_too(tmp_path: Path) -> None:
    """The comparison by names does not look at CHECKs, STRICT and what a key does on delete."""
    upgrade(url(tmp_path / "migrated.sqlite3"))
    created = Database(url(tmp_path / "created.sqlite3"))
    Base.metadata.create_all(created.engine)
    created.close()
    made = structure(tmp_path / "created.sqlite3")
    assert structure(tmp_path / "migrated.sqlite3") == made
    assert sum("CHECK" in line for lines in made.values() for line in lines) > 100
    tables = {name for name in made if name in Base.metadata.tables}
    assert len(tables) == len(Base.metadata.tables)
    assert all("STRICT" in " ".join(made[name]) for name in tables)


def test_a_second_upgrade_changes_nothing(filled: Path) -> None:
    before = filled.read_bytes()
    done = upgrade(url(filled))
    assert (done.before, done.after, done.backup) == (newest_revision(), newest_revision(), None)
    assert filled.read_bytes() == before
    assert revision(url(filled)) == newest_revision()


def test_an_upgrade_keeps_every_row_and_a_copy_of_the_old_database(
    filled: Path, steps: Path
) -> None:
    add_step(
        steps,
        "with op.batch_alter_table('customer') as table:\n"
        "    table.add_column(sa.Column('nickname', sa.Text(), nullable=True))",
    )
    before = row_counts(filled)
    done = upgrade(url(filled), steps)
    assert row_counts(filled) == before
    assert before["machine"] == 3
    assert query(filled, "SELECT nickname FROM customer LIMIT 1") == [(None,)]
    assert done.backup is not None
    assert row_counts(done.backup) == before
    assert revision(url(done.backup)) == newest_revision()


def test_rebuilding_a_table_keeps_rows_that_point_to_it_and_its_rules(
    filled: Path, steps: Path
) -> None:
    """With foreign keys on, the rebuilt table would be refused or take its machines along."""
    before, rules = row_counts(filled), structure(filled)["customer"]
    add_step(
        steps,
        "with op.batch_alter_table('customer', recreate='always') as table:\n"
        "    table.alter_column('note', nullable=True)",
    )
    upgrade(url(filled), steps)
    assert row_counts(filled) == before
    assert query(filled, "PRAGMA foreign_key_check") == []
    now = structure(filled)["customer"]
    assert [line for line in rules if "CHECK" in line] == [line for line in now if "CHECK" in line]
    assert "STRICT" in " ".join(now)


def test_a_step_that_fails_half_way_leaves_the_database_as_it_was(
    filled: Path, steps: Path
) -> None:
    before, rows = structure(filled), row_counts(filled)
    add_step(
        steps,
        "op.create_table('half', sa.Column('id', sa.Integer()))\n"
        "op.execute(\"UPDATE customer SET name = 'nobody'\")\n"
        "op.execute('SELECT no_such_function()')",
    )
    with pytest.raises(Unavailable, match="no_such_function"):
        upgrade(url(filled), steps)
    assert structure(filled) == before
    assert row_counts(filled) == rows
    assert query(filled, "SELECT count(*) FROM customer WHERE name = 'nobody'") == [(0,)]
    assert revision(url(filled)) == newest_revision()


def test_an_earlier_step_is_undone_when_a_later_one_fails(filled: Path, steps: Path) -> None:
    add_step(steps, "op.create_table('early', sa.Column('id', sa.Integer()))")
    add_step(steps, "raise LookupError('later')", number="9002", after="9001")
    with pytest.raises(LookupError):
        upgrade(url(filled), steps)
    assert "early" not in structure(filled)
    assert revision(url(filled)) == newest_revision()


def test_a_step_after_which_rows_point_to_nothing_is_refused(filled: Path, steps: Path) -> None:
    add_step(steps, "op.execute('DELETE FROM customer WHERE id = 1')")
    rows = row_counts(filled)
    with pytest.raises(Unavailable, match="migration_breaks_links") as refused:
        upgrade(url(filled), steps)
    assert refused.value.facts["tables"] == ("machine",)
    assert row_counts(filled) == rows


def test_a_database_of_a_newer_version_is_left_alone(filled: Path, steps: Path) -> None:
    add_step(steps, "op.create_table('newer', sa.Column('id', sa.Integer()))")
    upgrade(url(filled), steps)
    with pytest.raises(Unavailable, match="database_newer") as refused:
        upgrade(url(filled))
    assert refused.value.facts["found"] == "9001"


def test_two_upgrades_at_once_make_one_database(tmp_path: Path) -> None:
    file = tmp_path / "both.sqlite3"
    with ThreadPoolExecutor(2) as threads:
        done = list(threads.map(upgrade, [url(file)] * 2))
    assert {step.after for step in done} == {newest_revision()}
    assert structure(file).keys() >= Base.metadata.tables.keys()


def test_an_upgrade_waits_for_another_that_takes_long(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Longer than a writer waits for what a person does."""
    file = tmp_path / "held.sqlite3"
    held = sqlite3.connect(file, isolation_level=None)
    held.execute("BEGIN IMMEDIATE")
    with monkeypatch.context() as hurried:
        hurried.setattr("app.records.migrating.WAITS_MS", 50)
        with pytest.raises(Unavailable, match="database_busy"):
            upgrade(url(file))
    assert WAITS_MS > 10 * BUSY_TIMEOUT_MS
    with ThreadPoolExecutor(1) as threads:
        waiting = threads.submit(upgrade, url(file))
        assert not wait([waiting], timeout=0.5).done
        held.execute("COMMIT")
        assert waiting.result().after == newest_revision()
    held.close()


def test_copies_before_upgrades_do_not_overwrite_each_other(filled: Path, steps: Path) -> None:
    add_step(steps, "raise LookupError")
    for _ in range(3):
        with pytest.raises(LookupError):
            upgrade(url(filled), steps)
    assert len(list(filled.parent.glob(f"{filled.name}.{newest_revision()}-before-*"))) == 3
