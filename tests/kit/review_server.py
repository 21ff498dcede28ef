"""The real `odovox review` in a process of its own, and a client that sends exactly what it is told to."""

from __future__ import annotations

import http.client
import json
import signal
import subprocess
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Self
from urllib.parse import urlsplit

from command_line import command, environment


@dataclass(frozen=True)
class Got:
    """What came back: status, headers by lower-case name, body."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def json(self) -> Any:
        """The body as JSON."""
        return json.loads(self.body)


class ReviewServer:
    """`odovox review DRIVE --no-browser`, from its start to Ctrl-C; use it in `with`."""

    def __init__(self, folder: Path, nowhere: Path, who: str = "Ada") -> None:
        self._process = subprocess.Popen(
            command("review", folder, "--no-browser", "--who", who),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=environment(nowhere),
            cwd=nowhere,
        )
        assert self._process.stdout is not None
        self.address = self._process.stdout.readline().strip()
        assert self.address, self._process.communicate()[1]
        parts = urlsplit(self.address)
        self.authority, self.base = parts.netloc, parts.path
        self.port = parts.port or 0
        self.stderr = ""
        self.code: int | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.end()

    @property
    def pid(self) -> int:
        """Its process id."""
        return self._process.pid

    def end(self, number: signal.Signals = signal.SIGINT) -> None:
        """End it by a signal, and keep its exit code and what it said."""
        if self.code is None:
            self._process.send_signal(number)
            try:
                _, self.stderr = self._process.communicate(timeout=20)
            except subprocess.TimeoutExpired:
                self._process.kill()
                _, self.stderr = self._process.communicate()
            self.code = self._process.returncode

    def send(
        self, method: str, path: str, body: bytes | None = None, headers: dict[str, str] | None = None
    ) -> Got:
        """Send a request as it stands: `path` is not cleaned up, and no header is added but the length of a body."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        try:
            connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            sent = {"Host": self.authority, **(headers or {})}
            for name, value in sent.items():
                if value:
                    connection.putheader(name, value)
            if body is not None:
                connection.putheader("Content-Length", str(len(body)))
            with suppress(BrokenPipeError, ConnectionResetError):  # refused before all of it was sent
                connection.endheaders(body)
            response = connection.getresponse()
            return Got(
                response.status,
                {name.lower(): value for name, value in response.getheaders()},
                response.read(),
            )
        finally:
            connection.close()

    def get(self, path: str, **headers: str) -> Got:
        """Ask for something below the page's own address; `_` in a header's name is a dash."""
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        return self.send("GET", self.base + path, headers=named)

    def answer(self, **members: Any) -> Got:
        """Send an answer as the page does, about the drive as it is now unless a revision is given."""
        if "revision" not in members:
            members["revision"] = self.get("state").json["revision"]
        return self.post(json.dumps(members).encode())

    def post(self, body: bytes, **headers: str) -> Got:
        """Send a body as the page does."""
        named = {"Origin": f"http://{self.authority}", "Content-Type": "application/json"}
        named |= {name.replace("_", "-"): value for name, value in headers.items()}
        return self.send("POST", self.base + "answer", body, named)
