"""The real server, in a process of its own: what it says, takes, refuses, and how it stops."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import socket
import ssl
import subprocess
import sys
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner

from boughwright.cli.serve import command
from boughwright.errors import RangeError
from boughwright.web import serve as serving
from boughwright.web.serve import EVERYWHERE, HERE, Plan, open_doors, port_of, prepare

if TYPE_CHECKING:
    from collections.abc import Iterator

    from boughwright.web.guard import GuardOptions

SERVER = Path(__file__).with_name("guard_server.py")


class Server:
    """A running server, the lines it said so far, and its first port."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self.process = process
        self.said: list[str] = []
        assert process.stdout is not None
        for line in process.stdout:
            self.said.append(line.rstrip("\n"))
            if line.startswith("Stop it"):
                break
        else:
            raise AssertionError(process.communicate())
        found = re.search(r"http://127\.0\.0\.1:(\d+)/", "\n".join(self.said))
        assert found is not None, self.said
        self.port = int(found[1])

    def ask(self, method: str = "GET", path: str = "/", body: bytes | None = None,
            **headers: str) -> tuple[int, bytes, dict[str, str]]:  # fmt: skip
        with closing(http.client.HTTPConnection(HERE, self.port, timeout=20)) as connection:
            named = {name.replace("_", "-"): value for name, value in headers.items()}
            connection.request(method, path, body, named)
            answer = connection.getresponse()
            return answer.status, answer.read(), {k.lower(): v for k, v in answer.getheaders()}

    def raw(self, text: bytes, *, wait_s: float = 10.0) -> bytes:
        """Send bytes as they are; return all that comes until the server closes."""
        with socket.create_connection((HERE, self.port), timeout=wait_s) as sock:
            sock.sendall(text)
            got = b""
            while piece := sock.recv(65_536):
                got += piece
            return got

    def stop(self) -> tuple[int, str]:
        self.process.send_signal(signal.SIGINT)
        out, err = self.process.communicate(timeout=20)
        return self.process.returncode, out + err


@contextmanager
def running(folder: Path, *flags: str) -> Iterator[Server]:
    with subprocess.Popen(
        [sys.executable, str(SERVER), str(folder / "garden.book"), "0", *flags],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=folder,
    ) as process:
        try:
            yield Server(process)
        finally:
            if process.poll() is None:
                process.kill()
            process.communicate()


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with running(tmp_path_factory.mktemp("served")) as one:
        yield one


def test_it_says_where_it_is_and_who_can_reach_it(server: Server) -> None:
    said = "\n".join(server.said)
    assert f"http://127.0.0.1:{server.port}/" in said
    assert "Only this computer can reach it" in said
    assert "Ctrl-C" in said


def test_it_answers_and_does_not_say_what_it_runs_on(server: Server) -> None:
    status, _, headers = server.ask()
    assert status == 200
    assert "server" not in headers
    assert headers["content-security-policy"].startswith("default-src 'none'")


def test_it_does_not_listen_to_the_network(server: Server) -> None:
    own = {a[4][0] for a in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}
    outside = [a for a in own if not str(a).startswith("127.")]
    for address in outside:
        with pytest.raises(OSError, match="refused"):
            socket.create_connection((str(address), server.port), timeout=2)


@pytest.mark.parametrize(
    "head",
    [
        b"Host: evil.example",
        b"Host: 127.0.0.1:1",
        b"X-No-Host: 1",
        b"Host: 127.0.0.1:PORT\r\nHost: evil.example",
        b"Host: 127.0.0.1:PORT\r\nX-A: b\rSet-Cookie: c=d",
        b"Host: 127.0.0.1:PORT\r\nX-A\x00: b",
        b"Host: 127.0.0.1:PORT evil",
        b"Host : 127.0.0.1:PORT",
        b"Host: 127.0.0.1:PORT\r\n evil.example",
        b"Host: 127.0.0.1:PORT\r\nContent-Length: 1\r\nContent-Length: 2",
    ],
)
def test_heads_that_play_tricks_are_refused(server: Server, head: bytes) -> None:
    head = head.replace(b"PORT", str(server.port).encode())
    got = server.raw(b"GET / HTTP/1.1\r\n" + head + b"\r\nConnection: close\r\n\r\n")
    assert got.startswith(b"HTTP/1.1 400 ")
    assert b"c=d" not in got.split(b"\r\n\r\n")[0]


@pytest.mark.parametrize(
    "target",
    [
        b"http://evil.example/",
        b"//evil.example/..",
        b"/../../etc/passwd",
        b"/static/dist/..%2f..%2f..%2fetc/passwd",
        b"*",
    ],
)
def test_targets_that_play_tricks_find_nothing(server: Server, target: bytes) -> None:
    got = server.raw(
        b"GET "
        + target
        + b" HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nConnection: close\r\n\r\n" % server.port
    )
    assert got.startswith((b"HTTP/1.1 404 ", b"HTTP/1.1 400 "))
    assert b"root:" not in got


def test_a_head_without_end_is_cut_off(server: Server) -> None:
    got = server.raw(b"GET / HTTP/1.1\r\nX-A: " + b"a" * 100_000)
    assert got.startswith(b"HTTP/1.1 400 ") or got == b""


def memory_kb(process: int) -> int:
    """Return the most memory a process has held. [kB]"""
    status = Path(f"/proc/{process}/status").read_text("ascii")
    found = re.search(r"VmHWM:\s+(\d+) kB", status)
    assert found is not None
    return int(found[1])


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="memory is read from /proc")
@pytest.mark.parametrize("chunked", [True, False])
def test_a_200_mb_upload_is_refused_without_being_held_and_the_server_goes_on(
    server: Server, *, chunked: bool
) -> None:
    csrf = server.ask()[1].decode()
    before = memory_kb(server.process.pid)
    with closing(http.client.HTTPConnection(HERE, server.port, timeout=60)) as connection:
        connection.putrequest("POST", "/api/lines")
        connection.putheader("x-csrf", csrf)
        if chunked:
            connection.putheader("Transfer-Encoding", "chunked")
        else:
            connection.putheader("Content-Length", str(200 * 1_000_000))
        connection.endheaders()
        piece = b"x" * 1_000_000
        for _ in range(200):
            connection.send(b"f4240\r\n" + piece + b"\r\n" if chunked else piece)
        if chunked:
            connection.send(b"0\r\n\r\n")
        answer = connection.getresponse()
        assert answer.status == 413
        assert json.loads(answer.read())["error"]["allowed"] == "up to 1 MB"
        connection.request("GET", "/")  # the same connection is clean
        again = connection.getresponse()
        assert (again.status, len(again.read()) > 20) == (200, True)
    assert memory_kb(server.process.pid) - before < 20_000


def test_a_failure_shows_nothing_of_the_inside(server: Server) -> None:
    status, body, _ = server.ask("GET", "/fails")
    assert status == 500
    assert b"secret inside" not in body
    assert b"Traceback" not in body


def test_slow_heads_and_unread_bodies_do_not_hold_a_connection(tmp_path: Path) -> None:
    with running(tmp_path, "HEAD_S=short", "DRAIN_S=short") as server:
        assert server.raw(b"") == b""
        assert server.raw(b"GET / HTTP/1.1\r\nHost: 127") == b""
        stalled = server.raw(
            b"POST /api/lines HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nContent-Length: 99999999\r\n\r\nx"
            % server.port
        )
        assert stalled.startswith(b"HTTP/1.1 413 ")
        assert server.ask()[0] == 200


def test_ctrl_c_stops_it_cleanly_even_with_a_request_open(tmp_path: Path) -> None:
    with running(tmp_path) as server, socket.create_connection((HERE, server.port)) as open_:
        open_.sendall(b"GET / HTTP/1.1\r\nHost: ")
        code, rest = server.stop()
    assert code == 0
    assert "Stopped. Everything that was written is in the book." in rest
    assert "Traceback" not in rest
    assert "Error" not in rest


def test_over_the_network_a_device_pairs_by_what_the_terminal_shows(tmp_path: Path) -> None:
    with running(tmp_path, "lan") as server:
        said = "\n".join(server.said)
        assert "plain http" in said
        assert "Only paired devices get in" in said
        assert "█" in said
        assert re.search(r"type  [0-9A-Z]{4} [0-9A-Z]{4}", said)
        assert server.ask()[0] == 200
        assert server.ask(x_forwarded_for="192.168.1.7")[0] == 401
        code, _ = server.stop()
    assert code == 0


def test_https_is_trusted_with_the_certificate_that_is_handed_out(tmp_path: Path) -> None:
    with running(tmp_path, "lan", "https") as server:
        said = "\n".join(server.said)
        sealed = re.search(r"https://127\.0\.0\.1:(\d+)/", said)
        handing = re.search(r"^http://127\.0\.0\.1:(\d+)/$", said, re.MULTILINE)
        assert sealed is not None
        assert handing is not None
        assert server.ask()[0] == 200  # this computer goes on over plain http
        with closing(http.client.HTTPConnection(HERE, int(handing[1]), timeout=10)) as plain:
            plain.request("GET", "/boughwright.pem")
            certificate = plain.getresponse().read().decode()
            plain.request("GET", "/")
            page = plain.getresponse().read().decode()
            plain.request("GET", "/devices")
            nothing_else = plain.getresponse()
            assert nothing_else.status == 404
            nothing_else.read()
            plain.request("GET", "/", headers={"Host": "evil.example"})
            assert plain.getresponse().status == 400
        shown = re.search(r"(?:[0-9A-F]{4} ){15}[0-9A-F]{4}", page)
        assert shown is not None
        assert shown[0] in re.sub(r"\s+", " ", said)
        trusting = ssl.create_default_context(cadata=certificate)
        with closing(
            http.client.HTTPSConnection(HERE, int(sealed[1]), context=trusting, timeout=10)
        ) as connection:
            connection.request("GET", "/")
            answer = connection.getresponse()
            assert answer.status == 200
            assert answer.headers["strict-transport-security"] is None
        with (
            closing(http.client.HTTPSConnection(HERE, int(sealed[1]), timeout=10)) as distrusting,
            pytest.raises(ssl.SSLCertVerificationError),
        ):
            distrusting.request("GET", "/")
        code, rest = server.stop()
    assert (code, "Traceback" in rest) == (0, False)
    names = {p.name for p in (tmp_path / "garden.book.keys").iterdir()}
    assert {"authority.pem", "server.pem", "server.key", "devices.db"} <= names
    if os.name == "posix":
        assert {p.stat().st_mode & 0o777 for p in (tmp_path / "garden.book.keys").iterdir()} == {
            0o600
        }


def test_a_taken_port_is_told_when_asked_for_and_passed_over_when_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    with socket.socket() as taken:
        taken.bind((HERE, 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(RangeError, match=rf"--port: port {port} cannot be taken"):
            open_doors(Plan(port))
        monkeypatch.setattr(serving, "FIRST_PORT", port)
        with closing(open_doors(Plan())) as doors:
            assert port < port_of(doors.main) < port + 20


def test_doors_open_only_where_asked() -> None:
    with closing(open_doors(Plan())) as doors:
        assert doors.main.getsockname()[0] == HERE
        assert [(d.scheme, d.lan) for d in doors.listening(lan=False)] == [("http", False)]
    with closing(open_doors(Plan(lan=True))) as doors:
        assert doors.main.getsockname()[0] == EVERYWHERE
        assert [(d.scheme, d.lan) for d in doors.listening(lan=True)] == [("http", True)]
    with closing(open_doors(Plan(lan=True, https=True))) as doors:
        assert doors.main.getsockname()[0] == HERE  # plain http stays on this computer
        assert [(d.scheme, d.lan) for d in doors.listening(lan=True)] == [
            ("http", False), ("https", True)
        ]  # fmt: skip
        assert doors.handing is not None


def test_https_without_the_network_is_told(tmp_path: Path) -> None:
    def never(_: GuardOptions) -> None:
        raise AssertionError

    with pytest.raises(RangeError, match="Give --lan too"):
        prepare(tmp_path / "a.book", Plan(https=True), never, lambda: None)  # type: ignore[arg-type,return-value]
    assert list(tmp_path.iterdir()) == []


def test_a_home_name_is_one_that_a_browser_can_send(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, given in (("Laptop.lan", ("laptop.local",)), ("a b", ()), ("", ()), ("localhost", ()),
                        ("bench-2", ("bench-2.local",)), ("x" * 70, ())):  # fmt: skip
        monkeypatch.setattr(socket, "gethostname", lambda name=name: name)
        assert serving.home_names() == given


def test_the_command_hands_its_options_on(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    served: list[tuple[Path, Plan]] = []
    monkeypatch.setattr(serving, "serve", lambda book, plan, **_: served.append((book, plan)))
    book = str(tmp_path / "a.book")
    done = CliRunner().invoke(command, ["--port", "9000", "--lan", "--https"], obj=book)
    assert done.exit_code == 0, done.output
    assert served == [(Path(book), Plan(9000, lan=True, https=True, open_browser=False))]
    assert CliRunner().invoke(command, ["--port", "0"], obj=book).exit_code == 2
