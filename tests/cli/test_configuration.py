"""Settings from the command line, the environment and the defaults."""

import argparse
import os
import stat
from pathlib import Path

import pytest

from app.cli.configuration import settings_from
from app.cli.parsing import Parser, add_server_options
from app.errors import BadInput, Unavailable
from app.settings import Settings, default_data_dir, prepare_data_dir, read_settings


def parsed(*words: str) -> argparse.Namespace:
    parser = Parser()
    add_server_options(parser)
    return parser.parse_args(words)


@pytest.fixture(autouse=True)
def bare_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in list(os.environ):
        if name.startswith("JIGBOOK_"):
            monkeypatch.delenv(name)


def test_nothing_said_means_this_machine_alone() -> None:
    settings = settings_from(parsed())
    assert (settings.host, settings.port) == ("127.0.0.1", 8417)
    assert settings.data_dir == default_data_dir()
    assert settings.loopback_only
    assert not settings.over_tls
    assert settings.address == "http://127.0.0.1:8417"


def test_the_command_line_goes_before_the_environment(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("JIGBOOK_DATA", str(tmp_path / "environment"))
    assert settings_from(parsed()).data_dir == tmp_path / "environment"
    assert settings_from(parsed("--data", str(tmp_path / "line"))).data_dir == tmp_path / "line"


def test_the_database_is_a_file_in_the_data_folder_unless_named(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    folder = tmp_path / "with space and ?"
    url = settings_from(parsed("--data", str(folder))).database_url
    assert url == f"sqlite:///{tmp_path}/with%20space%20and%20%3F/jigbook.sqlite3"
    monkeypatch.setenv("JIGBOOK_DATABASE_URL", "postgresql+psycopg://shop@localhost/jigbook")
    assert settings_from(parsed()).database_url == "postgresql+psycopg://shop@localhost/jigbook"


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["--port", "70000"], "port_out_of_range"),
        (["--port", "-1"], "port_out_of_range"),
        (["--tls-cert", "a.pem"], "tls_pair_incomplete"),
        (["--tls-key", "a.pem"], "tls_pair_incomplete"),
    ],
)
def test_what_cannot_be_used_is_refused(words: list[str], code: str) -> None:
    with pytest.raises(BadInput) as refused:
        settings_from(parsed(*words))
    assert [problem.code for problem in refused.value.problems] == [code]


@pytest.mark.parametrize("address", ["shop.example", "ftp://shop.example", "https://", "//x"])
def test_a_public_address_must_be_one(address: str) -> None:
    with pytest.raises(BadInput) as refused:
        read_settings({"JIGBOOK_PUBLIC_URL": address})
    assert refused.value.problems[0].code == "not_an_address"


def test_a_public_address_is_a_host_and_an_origin() -> None:
    settings = read_settings({"JIGBOOK_PUBLIC_URL": "https://Shop.example/"})
    assert settings.public_url == "https://Shop.example"
    assert "shop.example" in settings.allowed_hosts
    assert "https://shop.example" in settings.allowed_origins
    assert settings.over_tls


def test_allowed_hosts_are_what_was_configured_and_nothing_else() -> None:
    settings = settings_from(parsed("--host", "192.168.1.5", "--allowed-host", "jig.local"))
    assert set(settings.allowed_hosts) == {
        "127.0.0.1", "localhost", "[::1]", "192.168.1.5", "jig.local",
    }  # fmt: skip
    assert "http://jig.local:8417" in settings.allowed_origins


def test_listening_everywhere_allows_the_machines_own_names() -> None:
    hosts = read_settings({}, host="0.0.0.0").allowed_hosts
    assert len(hosts) > 3
    assert "0.0.0.0" not in hosts


def test_a_default_port_is_left_out_of_origins() -> None:
    over_tls = read_settings({}, port=443, tls_cert=Path("c"), tls_key=Path("k"))
    assert "https://localhost" in over_tls.allowed_origins
    assert "http://localhost" in read_settings({}, port=80).allowed_origins


def settings_in(folder: Path) -> Settings:
    return read_settings({}, data_dir=folder)


def test_the_data_folder_is_its_owners_alone(tmp_path: Path) -> None:
    before = os.umask(0o022)
    try:
        folder = prepare_data_dir(settings_in(tmp_path / "deep" / "data"))
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
        assert stat.S_IMODE((tmp_path / "deep").stat().st_mode) == 0o700
        assert os.umask(0o022) == 0o022
    finally:
        os.umask(before)


def test_a_data_folder_that_cannot_be_made_is_said_plainly(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder", encoding="utf-8")
    with pytest.raises(Unavailable) as refused:
        prepare_data_dir(settings_in(tmp_path / "file" / "data"))
    assert refused.value.code == "data_dir_unusable"
    assert str(tmp_path) in str(refused.value.facts["path"])
