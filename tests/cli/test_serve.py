"""`jigbook serve` as a process: first start, later start, refusals, the end."""

import datetime
import os
import re
import signal
import socket
import ssl
import subprocess
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from http.client import HTTPConnection, HTTPSConnection
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from app.cli.server import listen
from app.settings import Settings
from tests.cli import JIGBOOK
from tests.cli.conftest import Jigbook

SERVE = [*JIGBOOK, "serve", "--port", "0"]
PASSWORD = re.compile(r"^  password +(\S+)$", re.MULTILINE)


class Running:
    """A server that has said where it is."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self.process = process
        self.greeting = ""
        assert process.stdout is not None
        for line in process.stdout:
            self.greeting += line
            if "Ctrl-C" in line:
                break

    @property
    def port(self) -> int:
        match = re.search(r"is at https?://127\.0\.0\.1:(\d+)$", self.greeting, re.MULTILINE)
        assert match is not None, self.greeting
        return int(match[1])

    def get(self, path: str) -> int:
        """The status of the answer."""
        with closing(HTTPConnection("127.0.0.1", self.port, timeout=10)) as connection:
            connection.request("GET", path)
            return connection.getresponse().status

    def stop(self) -> tuple[int, str]:
        """Exit code and what was written to standard error."""
        self.process.send_signal(signal.SIGTERM)
        _, err = self.process.communicate(timeout=20)
        return self.process.returncode, err


@contextmanager
def running(data: Path, *options: str) -> Iterator[Running]:
    line = [*SERVE, "--data", str(data), *options]
    environment = {k: v for k, v in os.environ.items() if not k.startswith("JIGBOOK_")}
    with subprocess.Popen(
        line, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment
    ) as process:
        try:
            yield Running(process)
        finally:
            process.kill()


@pytest.fixture
def refused(jigbook: Jigbook, monkeypatch: pytest.MonkeyPatch) -> Callable[..., str]:
    """What a start that must fail says; it ends before anything is served."""
    for name in [name for name in os.environ if name.startswith("JIGBOOK_")]:
        monkeypatch.delenv(name)

    def start(data: Path, *options: str) -> str:
        code, out, err = jigbook("serve", "--port", "0", "--data", str(data), *options)
        assert code == 2, out + err
        assert out == ""
        return err

    return start


def test_the_first_start_tells_the_owners_password_and_no_later_one_does(tmp_path: Path) -> None:
    """The later one is on the network without TLS, which is warned about."""
    with running(tmp_path / "data") as server:
        assert len(PASSWORD.findall(server.greeting)) == 1
        password = PASSWORD.findall(server.greeting)[0]
        assert server.get("/") in (200, 303)
        server.get("/claim/s3cret-token")
        code, err = server.stop()
    assert code == 0
    assert password not in err
    assert "/claim/" in err
    assert "s3cret" not in err
    with running(tmp_path / "data", "--host", "0.0.0.0", "--allow-plain-http-lan") as server:
        assert PASSWORD.findall(server.greeting) == []
        assert "everybody on this network can read passwords" in server.greeting
        assert server.get("/") in (200, 303)
        assert server.stop()[0] == 0


def test_an_answer_does_not_wait_for_the_one_before(tmp_path: Path) -> None:
    """Head and body go out apart: held back, each answer on one connection would take 40 ms."""
    opened, settings = listen(Settings(data_dir=tmp_path, database_url="sqlite://", port=0))
    with opened, socket.create_connection(("127.0.0.1", settings.port)):
        accepted, _ = opened.accept()
        with accepted:
            assert accepted.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)


def test_a_taken_port_is_said_plainly(tmp_path: Path, refused: Callable[..., str]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        said = refused(tmp_path, "--port", str(port))
    assert str(port) in said
    assert "--port" in said


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.7"])
def test_plain_http_beyond_this_machine_needs_a_word(
    tmp_path: Path, host: str, refused: Callable[..., str]
) -> None:
    said = refused(tmp_path / "data", "--host", host)
    assert "--allow-plain-http-lan" in said
    assert not (tmp_path / "data").exists()


def certificate(folder: Path) -> tuple[Path, Path]:
    """A certificate for this machine, and its key."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "127.0.0.1")])
    now = datetime.datetime.now(datetime.UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(1)
        .not_valid_before(now - datetime.timedelta(days=1))
        .not_valid_after(now + datetime.timedelta(days=1))
        .sign(key, hashes.SHA256())
    )
    cert_file, key_file = folder / "cert.pem", folder / "key.pem"
    cert_file.write_bytes(made.public_bytes(serialization.Encoding.PEM))
    key_file.write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )
    return cert_file, key_file


def test_with_a_certificate_it_speaks_https(tmp_path: Path) -> None:
    cert, key = certificate(tmp_path)
    with running(tmp_path / "data", "--tls-cert", str(cert), "--tls-key", str(key)) as server:
        trusting = ssl.create_default_context(cafile=str(cert))
        trusting.check_hostname = False
        connection = HTTPSConnection("127.0.0.1", server.port, timeout=10, context=trusting)
        connection.request("GET", "/")
        answer = connection.getresponse()
        assert answer.status in (200, 303)
        assert answer.getheader("Strict-Transport-Security")
        connection.close()
        assert server.stop()[0] == 0


def test_a_certificate_that_is_none_is_said_plainly(
    tmp_path: Path, refused: Callable[..., str]
) -> None:
    broken = tmp_path / "cert.pem"
    broken.write_text("not a certificate", encoding="utf-8")
    said = refused(tmp_path / "data", "--tls-cert", str(broken), "--tls-key", str(broken))
    assert "cert.pem" in said
