"""The code that `serve` shows on a terminal: only where it can be seen."""

import io
import sys

import pytest
import segno

from app.cli import terminal_code
from app.cli.serve import greet
from app.settings import Settings, read_settings

ADDRESS = "https://shop.example"
MODULES = {" ": (1, 1), "▀": (0, 1), "▄": (1, 0), "█": (0, 0)}
"""Upper and lower module of a sign, 1 dark: terminals write light on dark."""


class Terminal(io.TextIOWrapper):
    """An output that says of itself that it is a terminal, or not."""

    def __init__(self, encoding: str = "utf-8", *, seen: bool = True) -> None:
        super().__init__(io.BytesIO(), encoding=encoding)
        self.seen = seen

    def isatty(self) -> bool:
        return self.seen

    def text(self) -> str:
        self.flush()
        assert isinstance(self.buffer, io.BytesIO)
        return self.buffer.getvalue().decode(self.encoding)


def printed(monkeypatch: pytest.MonkeyPatch, terminal: Terminal) -> str:
    monkeypatch.setattr(sys, "stdout", terminal)
    terminal_code.show_code(ADDRESS)
    return terminal.text()


def test_the_code_on_the_terminal_holds_the_address(monkeypatch: pytest.MonkeyPatch) -> None:
    """Half blocks read back as modules are those of a code of the address, with its quiet zone."""
    lines = [line for line in printed(monkeypatch, Terminal()).splitlines() if line]
    rows = [[MODULES[sign][half] for sign in line] for line in lines for half in (0, 1)]
    wanted = [list(row) for row in segno.make(ADDRESS, error="m").matrix_iter(border=4)]
    assert rows[: len(wanted)] == wanted


@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_a_terminal_without_the_signs_gets_none(
    monkeypatch: pytest.MonkeyPatch, encoding: str
) -> None:
    assert printed(monkeypatch, Terminal(encoding)) == ""


def test_a_log_file_gets_none(monkeypatch: pytest.MonkeyPatch) -> None:
    assert printed(monkeypatch, Terminal(seen=False)) == ""


def test_serve_tells_where_others_reach_it_and_only_if_they_do(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shown: list[str] = []
    monkeypatch.setattr("app.cli.terminal_code.show_code", shown.append)
    greet(read_settings({}), None)
    assert (shown, "Others reach it" in capsys.readouterr().out) == ([], False)
    greet(on_the_network("192.168.1.5"), None)
    assert shown == ["http://192.168.1.5:8417"]
    assert "Others reach it at http://192.168.1.5:8417\n" in capsys.readouterr().out


def on_the_network(host: str, **words: str) -> Settings:
    return read_settings({}, host=host, plain_http_on_lan=True, **words)  # type: ignore[arg-type]


def test_the_shops_own_word_goes_before_the_machines_address() -> None:
    named = on_the_network("0.0.0.0", public_url=ADDRESS)
    assert named.address_for_others == ADDRESS


def test_listening_everywhere_the_machines_own_address_is_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("app.settings.own_address", lambda: "10.0.0.7")
    assert on_the_network("0.0.0.0").address_for_others == "http://10.0.0.7:8417"
    monkeypatch.setattr("app.settings.own_address", lambda: None)
    assert on_the_network("0.0.0.0").address_for_others is None
