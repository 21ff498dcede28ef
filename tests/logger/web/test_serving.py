"""The page is for one person on this machine: what else asks is refused before anything is looked up.

The checks are those that browsers' own rules make possible: the Host that was asked for (RFC 9110, 7.2), Origin (RFC 6454),
Fetch Metadata (W3C), Content-Security-Policy (W3C), byte ranges (RFC 9110, 14).
"""

from __future__ import annotations

import io
import json
import signal
import socket
import wave
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest
from review_server import ReviewServer
from reviewed_drives import doubtful_drive, store_called, straight_fixes

from logger.store import DriveStore


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drive with some doubts; a link among its clips that leads out of it."""
    folder = tmp_path_factory.mktemp("drives") / "drive"
    return store_called(folder, doubtful_drive(), fixes=straight_fixes(600))


@pytest.fixture(scope="module")
def server(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[ReviewServer]:
    """The real thing."""
    with ReviewServer(folder, tmp_path_factory.mktemp("nowhere")) as running:
        yield running


def test_the_page_is_there(server: ReviewServer) -> None:
    """With its secret: every file of it, each with its kind."""
    page = server.get("")
    assert (200, "text/html; charset=utf-8") == (page.status, page.headers["content-type"])
    assert 200 == server.get("state").status
    assert "text/javascript; charset=utf-8" == server.get("main.js").headers["content-type"]
    assert len(server.base.strip("/")) >= 32


@pytest.mark.parametrize("path", ["/", "/state", "/wrong/", "/wrong/state", "//state", "/../state"])
def test_without_the_secret_nothing_is_there(server: ReviewServer, path: str) -> None:
    """Neither without one nor with a wrong one, and nothing tells which."""
    got = server.send("GET", path)

    assert (404, b"not here\n") == (got.status, got.body)


def test_a_shortened_secret_is_wrong(server: ReviewServer) -> None:
    """All of it counts."""
    assert 404 == server.send("GET", server.base[:-2] + "/state").status
    assert 404 == server.send("GET", server.base[:-1] + "x/state").status


@pytest.mark.parametrize("host", ["evil.example", "localhost:{port}", "127.0.0.1", "127.0.0.1:1", ""])
def test_another_name_is_refused(server: ReviewServer, host: str) -> None:
    """A name that somebody lets point to this machine (DNS rebinding) sends itself as Host."""
    got = server.send("GET", server.base + "state", headers={"Host": host.format(port=server.port)})

    assert got.status in {400, 421}
    assert b"entries" not in got.body


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:1"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_another_page_is_refused(server: ReviewServer, headers: dict[str, str]) -> None:
    """For looking as well as for changing, even with the secret; no header lets another page read anything."""
    got = server.send("GET", server.base + "state", headers=headers)
    changed = server.post(b"{}", **{name.replace("-", "_"): value for name, value in headers.items()})

    assert (403, 403) == (got.status, changed.status)
    assert not any(name.startswith("access-control") for name in got.headers)


def test_only_the_page_itself_changes_anything(server: ReviewServer, folder: Path) -> None:
    """An answer needs an origin and JSON: neither a form nor a program without an origin."""
    body = json.dumps(
        {"kind": "reject", "entry": "1-1", "revision": server.get("state").json["revision"]}
    ).encode()

    assert 403 == server.post(body, Origin="").status
    assert 415 == server.post(body, Content_Type="text/plain").status
    assert 415 == server.post(body, Content_Type="application/x-www-form-urlencoded").status
    assert (
        404
        == server.send(
            "POST",
            server.base + "state",
            body,
            {"Origin": f"http://{server.authority}", "Content-Type": "application/json"},
        ).status
    )
    assert {405} == {
        server.send(method, server.base + "state").status for method in ("PUT", "DELETE", "OPTIONS")
    }
    with DriveStore.open(folder, readonly=True) as store:
        assert () == store.decisions()


def test_bodies_are_small_and_json(server: ReviewServer) -> None:
    """One too long is refused by its length, whatever is in it; what is no object too."""
    assert 413 == server.post(b" " * 20_000).status
    with suppress(ConnectionResetError, BrokenPipeError):  # the answer may be lost when the connection is cut
        assert 413 == server.post(b'{"words": "' + b"x" * 2_000_000 + b'"}').status
    assert 400 == server.post(b"not json").status
    assert 400 == server.post(b"[" * 10_000).status
    assert 400 == server.post(b"[1]").status
    assert 400 == server.post(b"").status
    assert 200 == server.get("state").status


def test_a_body_of_unknown_length_is_small_too(server: ReviewServer) -> None:
    """Sent in chunks (RFC 9112, 7.1), so that no header tells how long it is."""
    with socket.create_connection(("127.0.0.1", server.port), timeout=20) as connection:
        connection.sendall(
            f"POST {server.base}answer HTTP/1.1\r\nHost: {server.authority}\r\nOrigin: http://{server.authority}\r\n"
            "Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n".encode()
        )
        # Just over the limit: what a server does not read any more would cut its answer off.
        body = b" " * 16_500
        connection.sendall(f"{len(body):x}\r\n".encode() + body + b"\r\n0\r\n\r\n")
        assert b"HTTP/1.1 413" == connection.recv(12)


@pytest.mark.parametrize(
    "path",
    [
        "../../../etc/passwd",
        "..%2f..%2fetc%2fpasswd",
        "%2e%2e/drive.sqlite",
        "/etc/passwd",
        "clips/001.flac",
        "drive.sqlite",
        "sound/../drive.sqlite",
        "sound/1.flac",
        "sound/../../x.wav",
        "sound/99999.wav",
        "sound/-1.wav",
        "sound/%D9%A1.wav",
        "entry/../state",
        "entry/99-9",
        "entry/",
        "main.js/",
        "__init__.py",
        "serving.py",
        "x" * 3_000,
    ],
)
def test_paths_lead_nowhere_else(server: ReviewServer, path: str) -> None:
    """A path names a file of the page, a call's number or an entry's id, and nothing on the disk."""
    got = server.get(path)

    assert 404 == got.status
    assert b"root:" not in got.body


def test_nothing_is_loaded_from_anywhere_else(server: ReviewServer) -> None:
    """By policy, on every answer; and no file of the page names an address."""
    for path in ("", "state", "main.js", "sound/1.wav", "nowhere"):
        headers = server.get(path).headers
        policy = dict(part.split(" ", 1) for part in headers["content-security-policy"].split("; "))
        assert "'none'" == policy["default-src"]
        assert {"'self'", "'none'"} == set(policy.values())
        assert ("nosniff", "no-referrer", "no-store", "same-origin") == (
            headers["x-content-type-options"],
            headers["referrer-policy"],
            headers["cache-control"],
            headers["cross-origin-resource-policy"],
        )
    for name in ("", "main.js", "charts.js", "look.css", "entry.js", "sound.js"):
        text = server.get(name).body.decode().replace("http://www.w3.org/2000/svg", "")
        assert "://" not in text
        assert "innerHTML" not in text


def test_it_listens_on_the_loopback_address_only(server: ReviewServer) -> None:
    """As the kernel says (/proc/net/tcp, in hexadecimal, least byte first): no other address, and not IPv6."""
    lines = [line.split() for line in Path("/proc/net/tcp").read_text("ascii").splitlines()[1:]]
    lines += [line.split() for line in Path("/proc/net/tcp6").read_text("ascii").splitlines()[1:]]
    listening = {
        line[1] for line in lines if line[3] == "0A" and int(line[1].split(":")[1], 16) == server.port
    }

    assert {f"0100007F:{server.port:04X}"} == listening
    other = next(
        (each[4][0] for each in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)), "127.0.0.2"
    )
    if other.startswith("127."):
        other = "127.0.0.2"
    with pytest.raises(ConnectionRefusedError), socket.create_connection((other, server.port), timeout=2):
        pass


def test_sound_is_sought_by_bytes(server: ReviewServer) -> None:
    """A WAV file, whole or in part, as RFC 9110 has it; Python's own reader plays it."""
    whole = server.get("sound/1.wav")
    with wave.open(io.BytesIO(whole.body)) as read:
        assert (1, 2, 16_000, 6 * 16_000) == (
            read.getnchannels(),
            read.getsampwidth(),
            read.getframerate(),
            read.getnframes(),
        )
    assert ("bytes", str(len(whole.body))) == (
        whole.headers["accept-ranges"],
        whole.headers["content-length"],
    )

    part = server.get("sound/1.wav", Range="bytes=1000-1999")
    assert (206, f"bytes 1000-1999/{len(whole.body)}") == (part.status, part.headers["content-range"])
    assert whole.body[1000:2000] == part.body
    assert whole.body[-10:] == server.get("sound/1.wav", Range="bytes=-10").body
    beyond = server.get("sound/1.wav", Range=f"bytes={len(whole.body)}-")
    assert 416 == beyond.status


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_it_ends_cleanly(folder: Path, tmp_path: Path, number: signal.Signals) -> None:
    """Ctrl-C or a termination: one line, exit code 1 since something is in doubt, and the port is free."""
    with ReviewServer(folder, tmp_path) as server:
        assert 200 == server.get("state").status
        server.end(number)

        assert 1 == server.code
        assert "Traceback" not in server.stderr
        assert "odovox: 3 entries are in doubt" == server.stderr.splitlines()[-1]
    with pytest.raises(ConnectionRefusedError):
        server.get("state")
