"""The few Internet Printing Protocol questions that following a spooled job needs.

Encoding by RFC 8010, operations and states by RFC 8011; `purge` uses Cancel-Job with the boolean `purge-job`, which
the usual spooler of Linux understands and the standard does not have. Plain HTTP, to a socket in the file system
("/run/cups/cups.sock") or to HOST:PORT.
"""

import contextlib
import http.client
import socket
import struct
import time
from collections.abc import Iterable, Iterator, Sequence

from cheque.tongue import tr

Values = dict[str, list[int | str]]
#: Its tag, its name, its values.
Attribute = tuple[int, str, Sequence[int | str]]

#: Job states of RFC 8011, 5.3.7.
PENDING, HELD, PROCESSING, STOPPED, CANCELLED, ABORTED, COMPLETED = range(3, 10)

CANCEL_JOB = 0x0008
GET_JOB = 0x0009
GET_JOBS = 0x000A
GET_PRINTER = 0x000B

_OPERATION, _JOB, _END, _PRINTER = 0x01, 0x02, 0x03, 0x04
_INTEGER, _BOOLEAN, _ENUM = 0x21, 0x22, 0x23
_NAME, _KEYWORD, _URI, _CHARSET, _LANGUAGE = 0x42, 0x44, 0x45, 0x47, 0x48
_NOT_FOUND = 0x0406


#: How long a job that was being printed may take to stop.
PURGE_SECONDS = 5.0


class IppError(Exception):
    """The spooler could not be asked, or would not answer."""


class _Local(http.client.HTTPConnection):
    """HTTP over a socket in the file system."""

    def __init__(self, path: str, timeout: float) -> None:
        super().__init__("localhost", timeout=timeout)
        self._path = path

    def connect(self) -> None:
        self.sock = socket.socket(socket.AF_UNIX)
        self.sock.settimeout(self.timeout)
        try:
            self.sock.connect(self._path)
        except BaseException:
            self.sock.close()
            raise


class Spooler:
    """One spooler, as `user`. Each question is a connection of its own."""

    def __init__(self, server: str, user: str, timeout: float = 10.0) -> None:
        self.server, self.user, self.timeout = server, user, timeout
        self._number = 0

    def printer(self, queue: str, wanted: Iterable[str]) -> Values | None:
        """The queue's attributes; None when there is no such queue."""
        found = self._ask(GET_PRINTER, queue, [(_KEYWORD, "requested-attributes", list(wanted))])
        return next((values for group, values in found if group == _PRINTER), {}) if found is not None else None

    def job(self, queue: str, number: int) -> Values | None:
        """State, message and when it began (seconds) of a job; None when the spooler knows no such job."""
        asked = ["job-state", "job-printer-state-message", "time-at-processing"]
        body: list[Attribute] = [(_INTEGER, "job-id", [number]), (_KEYWORD, "requested-attributes", asked)]
        found = self._ask(GET_JOB, queue, body)
        return next((values for group, values in found if group == _JOB), {}) if found is not None else None

    def unfinished(self, queue: str, title: str | None = None) -> list[int]:
        """The numbers of the queue's jobs that are not yet over: anybody's, or those of a title."""
        body: list[Attribute] = [
            (_KEYWORD, "which-jobs", ["not-completed"]),
            (_KEYWORD, "requested-attributes", ["job-id", "job-name"]),
        ]
        found = self._ask(GET_JOBS, queue, body) or []
        jobs = [values for group, values in found if group == _JOB]
        numbers = [job["job-id"][0] for job in jobs if title is None or title in job.get("job-name", [])]
        return [number for number in numbers if isinstance(number, int)]

    def purge(self, queue: str, number: int) -> None:
        """Cancel the job if it is not over, and delete its document and every trace of it."""
        until = time.monotonic() + PURGE_SECONDS
        while True:
            self._ask(CANCEL_JOB, queue, [(_INTEGER, "job-id", [number]), (_BOOLEAN, "purge-job", [True])])
            if self.job(queue, number) is None:
                return
            if time.monotonic() > until:
                raise IppError(tr("the spooler at {server} keeps job {number}", server=self.server, number=number))
            time.sleep(0.1)  # a job in the midst of printing is first stopped

    def _ask(self, operation: int, queue: str, body: Sequence[Attribute]) -> list[tuple[int, Values]] | None:
        self._number += 1
        request = _request(operation, self._number, queue, self.user, body)
        try:
            answer = self._post(request)
        except (OSError, http.client.HTTPException) as error:
            raise IppError(
                tr("the spooler at {server} does not answer ({error})", server=self.server, error=error)
            ) from error
        try:
            status, groups = _answer(answer)
        except (struct.error, IndexError, UnicodeDecodeError) as error:
            raise IppError(tr("the spooler at {server} gave an answer that is not IPP", server=self.server)) from error
        if status == _NOT_FOUND:
            return None
        if status >= 0x0100:
            raise IppError(
                tr("the spooler at {server} refused (IPP status {status:#06x})", server=self.server, status=status)
            )
        return groups

    def _post(self, request: bytes) -> bytes:
        headers = {"Content-Type": "application/ipp"}
        connection: http.client.HTTPConnection
        if self.server.startswith("/"):
            connection = _Local(self.server, self.timeout)
            headers["Authorization"] = f"PeerCred {self.user}"  # checked against the socket by the spooler
        else:
            host, _, port = self.server.rpartition(":")
            connection = http.client.HTTPConnection(host.strip("[]"), int(port), timeout=self.timeout)
        with contextlib.closing(connection):
            connection.request("POST", "/", request, headers)
            response = connection.getresponse()
            if response.status != 200:
                raise http.client.HTTPException(tr("HTTP status {status}", status=response.status))
            return response.read()


def _request(operation: int, number: int, queue: str, user: str, body: Sequence[Attribute]) -> bytes:
    from urllib.parse import quote

    attributes: list[Attribute] = [
        (_CHARSET, "attributes-charset", ["utf-8"]),
        (_LANGUAGE, "attributes-natural-language", ["en"]),
        (_URI, "printer-uri", [f"ipp://localhost/printers/{quote(queue)}"]),
    ]
    # RFC 8011, 4.1.5: the target (here also the job's number) comes before everything else.
    attributes += [one for one in body if one[1] == "job-id"]
    attributes.append((_NAME, "requesting-user-name", [user]))
    attributes += [one for one in body if one[1] != "job-id"]
    written = b"".join(_attribute(*one) for one in attributes)
    return struct.pack(">BBHIB", 1, 1, operation, number, _OPERATION) + written + bytes([_END])


def _attribute(tag: int, name: str, values: Sequence[int | str]) -> bytes:
    written = b""
    for value in values:
        if isinstance(value, bool):
            raw = bytes([value])
        elif isinstance(value, int):
            raw = struct.pack(">i", value)
        else:
            raw = value.encode()
        written += struct.pack(">BH", tag, len(name)) + name.encode() + struct.pack(">H", len(raw)) + raw
        name = ""  # further values of the same attribute
    return written


def _answer(raw: bytes) -> tuple[int, list[tuple[int, Values]]]:
    """Status, and the groups of attributes after it."""
    (status,) = struct.unpack_from(">H", raw, 2)
    groups: list[tuple[int, Values]] = []
    for tag, name, value in _items(raw):
        if name is None:
            groups.append((tag, {}))
            continue
        groups[-1][1].setdefault(name, []).append(_value(tag, value))
    return status, groups


def _items(raw: bytes) -> Iterator[tuple[int, str | None, bytes]]:
    """Each group's tag (with no name), and each value with its attribute's name."""
    place, last = 8, ""
    while raw[place] != _END:
        tag = raw[place]
        if tag < 0x10:
            place += 1
            yield tag, None, b""
            continue
        (length,) = struct.unpack_from(">H", raw, place + 1)
        name = raw[place + 3 : place + 3 + length].decode()
        place += 3 + length
        (length,) = struct.unpack_from(">H", raw, place)
        value = raw[place + 2 : place + 2 + length]
        place += 2 + length
        last = name or last
        yield tag, last, value


def _value(tag: int, raw: bytes) -> int | str:
    if tag in (_INTEGER, _ENUM):
        return int(struct.unpack(">i", raw)[0])
    if tag == _BOOLEAN:
        return raw[0]
    return raw.decode("utf-8", "replace")
