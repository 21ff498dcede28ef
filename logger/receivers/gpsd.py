"""A client of the real gpsd that does not give up: fixes as they come, and what is wrong while none come.

The socket is read here and not through gpsd-py3 (0.3.0, as tried): that has no time limits, so it waits for ever on a gpsd
that hangs; it asks for the current fix again and again and cannot tell an unplugged receiver, whose last fix it
repeats; it needs a new connection by hand after gpsd restarts; and it gives 0 for what is absent. The tests hold what is
read here against it.
"""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Generator, Iterator
from dataclasses import dataclass

from logger.model import Reception, ReceptionChange
from logger.receivers.gpsd_reports import Event, GpsdReports

DEFAULT_PORT = 2947
"""gpsd's registered port."""

_WATCH = b'?WATCH={"enable":true,"json":true};\n'
_DEVICES = b"?DEVICES;\n"
_CONNECT_S = 2.0
_LOOK_S = 0.1
_VERSION_S = 3.0
"""gpsd says its version at once; who says nothing for so long is none."""
_ASK_EVERY_S = 2.0
_DEAF_S = 7.0
"""A gpsd that was asked every 2 s and has said nothing for so long hangs."""
_FIRST_WAIT_S, _LONGEST_WAIT_S = 0.5, 5.0
_NANO = 1_000_000_000


@dataclass(frozen=True, slots=True)
class GpsdAddress:
    """Where gpsd listens."""

    host: str = "localhost"
    port: int = DEFAULT_PORT

    def __str__(self) -> str:
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"{host}:{self.port}"


def parse_address(text: str) -> GpsdAddress:
    """Return the address that HOST, HOST:PORT, :PORT or [IPv6]:PORT names.

    >>> str(parse_address("[::1]:2948")), str(parse_address("dash.local"))
    ('[::1]:2948', 'dash.local:2947')

    Raises:
        ValueError: the port is no number from 1 to 65535, or there is more than an address.
    """
    rest = text.strip()
    if rest.startswith("["):
        host, closing, tail = rest[1:].partition("]")
        colon, port = tail[:1], tail[1:]
        wrong = not closing or colon not in {"", ":"}
    elif rest.count(":") > 1:  # a bare IPv6 address
        host, colon, port = rest, "", ""
        wrong = not set(rest.partition("%")[0]) <= set("0123456789abcdefABCDEF:.")
    else:
        host, colon, port = rest.partition(":")
        wrong = any(letter.isspace() or letter == "/" for letter in host)
    if colon and (not (port.isascii() and port.isdigit()) or not 1 <= int(port) <= 65535):
        wrong = True
    if wrong or not text.strip():
        raise ValueError(f"'{text}' is no address of gpsd; write HOST:PORT, such as localhost:{DEFAULT_PORT}")
    return GpsdAddress(host or "localhost", int(port) if colon else DEFAULT_PORT)


class Gpsd:
    """Watches one gpsd; one thread goes through `events`.

    Args:
        address: where it listens.
    """

    def __init__(self, address: GpsdAddress) -> None:
        self.address = address
        self.release: str | None = None
        """gpsd's version, None until it has said it."""
        self.devices: tuple[str, ...] = ()
        self.malformed = 0
        """Lines that could not be used so far."""
        self._reception: Reception | None = None

    def events(self, stop: threading.Event) -> Iterator[Event]:
        """Yield each fix, and each change of what can be said of the receiver, until `stop` is set.

        It connects again for ever, at first after half a second, later every five.
        """
        wait_s = _FIRST_WAIT_S
        while not stop.is_set():
            before = self.release
            self.release = None
            why = yield from self._watch(stop)
            if stop.is_set():
                return
            wait_s = _FIRST_WAIT_S if self.release is not None else min(2 * wait_s, _LONGEST_WAIT_S)
            self.release = self.release or before
            self.devices = ()
            if self._reception is not Reception.UNREACHABLE:
                self._reception = Reception.UNREACHABLE
                yield ReceptionChange(Reception.UNREACHABLE, why, time.monotonic_ns())
            stop.wait(wait_s)

    def _watch(self, stop: threading.Event) -> Generator[Event, None, str]:
        """Go through one connection, and return why it ended."""
        where = self.address
        try:
            connection = socket.create_connection((where.host, where.port), _CONNECT_S)
        except OSError as error:
            return f"nobody answers at {where} ({error.strerror or error})"
        with connection:
            connection.settimeout(_LOOK_S)
            try:
                connection.sendall(_WATCH)
                return (yield from self._listen(connection, stop))
            except OSError as error:
                return f"the connection to gpsd at {where} broke ({error.strerror or error})"

    def _listen(self, connection: socket.socket, stop: threading.Event) -> Generator[Event, None, str]:
        began_ns = heard_ns = asked_ns = time.monotonic_ns()
        reports = GpsdReports(began_ns)
        malformed_before = self.malformed
        while not stop.is_set():
            try:
                data = connection.recv(65_536)
                now_ns, utc_ns = time.monotonic_ns(), time.time_ns()
                if not data:
                    return f"gpsd at {self.address} has ended the connection"
                heard_ns = now_ns
                events = reports.feed(data, now_ns, utc_ns)
            except TimeoutError:
                now_ns = time.monotonic_ns()
                events = ()
            events += reports.tick(now_ns)
            self.release, self.devices = reports.release, reports.devices
            self.malformed = malformed_before + reports.malformed
            for event in events:
                if isinstance(event, ReceptionChange):
                    self._reception = event.reception
                yield event
            if reports.release is None and now_ns - began_ns > _VERSION_S * _NANO:
                return f"what answers at {self.address} is not gpsd, or it hangs"
            if now_ns - heard_ns > _DEAF_S * _NANO:
                return f"gpsd at {self.address} does not answer any more"
            # It tells by itself of positions and, mostly, of receivers; asking shows whether it still lives.
            if now_ns - max(heard_ns, asked_ns) > _ASK_EVERY_S * _NANO:
                asked_ns = now_ns
                connection.sendall(_DEVICES)
        return ""
