"""A web server for one person on this machine: loopback only, behind a secret, and for its own page only.

Every request is checked before anything is looked up:

- the `Host` it names must be this address and port, so that a name which somebody lets point here (DNS rebinding) is refused;
- an `Origin` must be this page's own, and what changes something must have one; a browser that says the request comes from
  another site (`Sec-Fetch-Site`, W3C Fetch Metadata) is refused as well;
- the first part of the path must be the secret, compared in constant time;
- a body must be JSON and small.

What is answered may load nothing from anywhere else (Content-Security-Policy), and is kept in no cache.
"""

from __future__ import annotations

import hmac
import json
import logging
import secrets
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from types import TracebackType
from typing import Any, Self

from logger.errors import OdovoxError

HOST = "127.0.0.1"
MOST_BODY_BYTES = 16 * 1024
_MOST_HEADER_BYTES = 16 * 1024
_THREADS = 4
_HEADERS = (
    (
        "Content-Security-Policy",
        (
            "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; media-src 'self'; "
            "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        ),
    ),
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("Cache-Control", "no-store"),
)

Environ = dict[str, Any]
StartResponse = Callable[..., Any]


@dataclass(frozen=True, slots=True)
class Asked:
    """A request that passed every check.

    Attributes:
        path: what follows the secret, without a slash at its beginning; "" for the page itself.
        body: what a POST carries, read as JSON; None for a GET.
    """

    path: str
    body: Any = None

    @property
    def changes(self) -> bool:
        """Whether it may change something."""
        return self.body is not None


@dataclass(frozen=True, slots=True)
class Reply:
    """An answer: its body and media type. `seekable` lets a part of it be asked for by bytes (RFC 9110, section 14)."""

    body: bytes
    kind: str
    status: int = 200
    seekable: bool = False


NOT_FOUND = Reply(b"not here\n", "text/plain; charset=utf-8", 404)


def json_reply(text: str, status: int = 200) -> Reply:
    """Return JSON text as an answer."""
    return Reply(text.encode(), "application/json", status)


class LocalServer:
    """Serves what `answer` replies, from a free port of the loopback address; use it in `with`.

    Args:
        answer: replies to a request that passed the checks; called from several threads. An `OdovoxError` that it raises
            is told to the page.
        complain: told in one line what went wrong that should not.

    Raises:
        OdovoxError: no port can be had.
    """

    def __init__(self, answer: Callable[[Asked], Reply], complain: Callable[[str], None]) -> None:
        from waitress import create_server

        # Its log of busy moments would go to the person's terminal.
        logging.getLogger("waitress").addHandler(logging.NullHandler())
        logging.getLogger("waitress").propagate = False
        self._answer, self._complain = answer, complain
        self._secret = secrets.token_urlsafe(24)
        try:
            self._server = create_server(
                self._application,
                host=HOST,
                port=0,
                threads=_THREADS,
                max_request_body_size=MOST_BODY_BYTES,
                max_request_header_size=_MOST_HEADER_BYTES,
                ident=None,
            )
        except OSError as error:
            raise OdovoxError(
                f"no page can be served from {HOST} ({error.strerror}); use --terminal"
            ) from error
        self._authority = f"{HOST}:{self._server.effective_port}"

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._server.close()

    @property
    def address(self) -> str:
        """The page's address, secret and all."""
        return f"http://{self._authority}/{self._secret}/"

    def run(self) -> None:
        """Serve until a KeyboardInterrupt."""
        self._server.run()

    def _application(self, environ: Environ, start_response: StartResponse) -> Iterable[bytes]:
        """Answer one request: the WSGI application (PEP 3333)."""
        from werkzeug.exceptions import RequestedRangeNotSatisfiable
        from werkzeug.wrappers import Request, Response

        reply = self._reply(Request(environ))
        response = Response(reply.body, status=reply.status, content_type=reply.kind)
        response.headers.extend(_HEADERS)
        if reply.seekable and reply.status == 200:
            try:
                response.make_conditional(environ, accept_ranges=True, complete_length=len(reply.body))
            except RequestedRangeNotSatisfiable as error:
                return error(environ, start_response)
        return response(environ, start_response)

    def _reply(self, request: Any) -> Reply:
        refusal = self._refusal(request)
        if refusal is not None:
            return refusal
        secret, slash, path = request.path.removeprefix("/").partition("/")
        if not slash or not hmac.compare_digest(secret.encode(), self._secret.encode()):
            return NOT_FOUND
        body = None
        if request.method == "POST":
            try:
                body = json.loads(request.get_data())
            except (ValueError, RecursionError):
                return _refused("this is no JSON", 400)
            if not isinstance(body, dict):
                return _refused("this is no JSON object", 400)
        try:
            return self._answer(Asked(path, body))
        except OdovoxError as error:
            return json_reply(json.dumps({"error": str(error)}), 409)
        except Exception as error:  # noqa: BLE001  (a fault of ours must not end the review, nor show a traceback)
            told = f"this failed, by a fault of odovox ({type(error).__name__}: {error}); please report it"
            self._complain(told)
            return json_reply(json.dumps({"error": told}), 500)

    def _refusal(self, request: Any) -> Reply | None:
        """Return what a request is refused with, None where it passes."""
        headers = request.headers
        if headers.get("Host") != self._authority:
            return _refused("this page is not served under that name", 421)
        own = f"http://{self._authority}"
        if headers.get("Origin", own) != own or headers.get("Sec-Fetch-Site", "none") not in (
            "none",
            "same-origin",
        ):
            return _refused("another page may not ask for this", 403)
        if request.method == "POST":
            if "Origin" not in headers:
                return _refused("only this page itself may change anything", 403)
            if request.mimetype != "application/json":
                return _refused("this must be JSON", 415)
            if (request.content_length or 0) > MOST_BODY_BYTES:
                return _refused("this is too long", 413)
        elif request.method not in ("GET", "HEAD"):
            return _refused("nothing here answers to that", 405)
        return None


def _refused(why: str, status: int) -> Reply:
    return Reply(f"{why}\n".encode(), "text/plain; charset=utf-8", status)
