"""One question and its reply over HTTP, bounded in tries, time, size and redirects.

urllib3's ``Retry`` counts the tries and grows the pauses.  It does not run inside the connection pool, because
a body that falls silent while it is streamed must count as well, and pause and chance are arguments here.
"""

from __future__ import annotations

import queue
import socket
import ssl
import threading
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import requests
import urllib3
from urllib3.exceptions import MaxRetryError, ReadTimeoutError
from urllib3.util.retry import Retry

from providers.addresses import host_of, is_loopback, redirected
from providers.errors import BadPayload, Refused, Unreachable, WeatherError
from providers.freshness import http_date
from providers.service_words import reason_in

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime
    from random import Random

    from providers.polite_http import Limits

T = TypeVar("T")

GROWTH_S = 1.0
"""Pauses grow as 0, 2, 4 … times this, plus the spread."""
SPREAD_S = (0.5, 1.5)
"""Every pause is longer by a random time between these, so that many households do not come back together."""
CHUNK_BYTES = 2**14
REASON_BYTES = 2**16
"""As much of an error's body as is looked at for a reason."""
REDIRECTS = frozenset({301, 302, 303, 307, 308})
PASSING = frozenset({429, *range(500, 600)})
"""Answers worth another try."""


@dataclass(frozen=True, slots=True)
class Reply:
    """A reply that can be used: status 200, 203 or 304."""

    status: int
    headers: Mapping[str, str]
    """Names in lower case."""
    body: bytes


class _Passing(Exception):
    """Trouble that may pass, and the error to raise if it does not."""

    def __init__(self, error: WeatherError, retry_after: str | None = None) -> None:
        super().__init__(str(error))
        self.error, self.retry_after = error, retry_after


@dataclass(frozen=True, slots=True)
class Exchange:
    """Asks one service; see ``PoliteClient`` for the meaning of the fields."""

    source: str
    limits: Limits
    rng: Random
    sleep: Callable[[float], None]
    monotonic: Callable[[], float]
    clock: Callable[[], datetime]

    def ask(self, url: str, headers: Mapping[str, str]) -> Reply:
        """The reply, after as many tries as the limits allow.  Raises Unreachable, Refused or BadPayload."""
        end = self.monotonic() + self.limits.total_s
        tries = Retry(total=self.limits.retries, backoff_factor=GROWTH_S)
        while True:
            try:
                return self._within(end - self.monotonic(), url, headers)
            except _Passing as trouble:
                tries = self._counted(tries, url, trouble)
                self._pause(tries, trouble, end)

    def _counted(self, tries: Retry, url: str, trouble: _Passing) -> Retry:
        try:
            return tries.increment("GET", url, error=trouble)
        except MaxRetryError:
            raise trouble.error from trouble.__cause__

    def _pause(self, tries: Retry, trouble: _Passing, end: float) -> None:
        """Wait before the next try, or give up where that would take too long."""
        asked = self._asked_pause_s(trouble.retry_after)
        pause = (tries.get_backoff_time() if asked is None else asked) + self.rng.uniform(*SPREAD_S)
        too_long = asked is not None and asked > self.limits.retry_after_s
        if too_long or pause >= end - self.monotonic():
            raise trouble.error from trouble.__cause__
        self.sleep(pause)

    def _asked_pause_s(self, retry_after: str | None) -> float | None:
        """Retry-After in seconds (RFC 9110, section 10.2.3: a number or a date); None where it is neither."""
        if retry_after is None:
            return None
        if retry_after.strip().isdecimal():
            return float(retry_after[:12])
        until = http_date(retry_after)
        return None if until is None else max(0.0, (until - self.clock()).total_seconds())

    def _within(self, seconds: float, url: str, headers: Mapping[str, str]) -> Reply:
        """One try, on a thread of its own, so that neither a slow name server nor a service that sends a byte
        a second holds us longer than the time left.  The body that an overdue thread reads is closed, so that the
        service is not asked again beside it; one that is held up before its headers are in ends by itself."""
        try:
            return in_time(seconds, lambda gave_up: self._follow(url, headers, gave_up))
        except TimeoutError as error:
            sentence = f"{self.source} did not finish its answer within {self.limits.total_s:g} s"
            raise Unreachable(sentence) from error

    def _follow(self, url: str, headers: Mapping[str, str], gave_up: GaveUp) -> Reply:
        for _ in range(self.limits.redirects + 1):
            reply = self._hop(url, headers, gave_up)
            if reply.status not in REDIRECTS:
                return self._judged(reply)
            url = redirected(url, reply.headers.get("location"), self.source)
        raise Unreachable(f"{self.source} redirects more than {self.limits.redirects} times")

    def _hop(self, url: str, headers: Mapping[str, str], gave_up: GaveUp) -> Reply:
        times = (self.limits.connect_s, self.limits.read_s)
        try:
            with requests.Session() as session:
                session.auth = _no_login
                session.trust_env = not is_loopback(host_of(url))
                with session.get(url, headers=headers, stream=True, allow_redirects=False, timeout=times) as response:
                    gave_up.end = response.raw.shutdown
                    names = {name.lower(): value for name, value in response.headers.items()}
                    return Reply(response.status_code, names, self._body(response, gave_up))
        except (requests.RequestException, urllib3.exceptions.HTTPError) as error:
            raise self._in_words(error) from error

    def _body(self, response: requests.Response, gave_up: GaveUp) -> bytes:
        """The body, unpacked and counted while it comes in; of an error only as much as a reason needs."""
        if response.status_code in REDIRECTS or response.status_code == 304:
            return b""
        self._check_encoding(response)
        is_error = response.status_code >= 400
        most = REASON_BYTES if is_error else self.limits.body_bytes
        body = bytearray()
        if gave_up.is_set():
            return b""
        try:
            for chunk in response.iter_content(CHUNK_BYTES):
                body += chunk
                if len(body) > most or gave_up.is_set():
                    break
        except (requests.RequestException, urllib3.exceptions.HTTPError):
            if not is_error:  # the status of an error says enough
                raise
        if len(body) > most and not is_error:
            raise BadPayload(f"{self.source} answered with more than {most / 2**20:g} MB: too much to take in")
        return bytes(body)

    def _check_encoding(self, response: requests.Response) -> None:
        """Refuse packings that we did not ask for: nested ones unpack a thousandfold at each turn."""
        packing = response.headers.get("Content-Encoding", "").strip().lower()
        if packing not in ("", "identity", "gzip", "x-gzip"):
            raise BadPayload(f"{self.source} packed its answer in a way we did not ask for")

    def _judged(self, reply: Reply) -> Reply:
        if reply.status in (200, 203, 304):
            return reply
        said = reason_in(reply.body)
        sentence = f"{self.source} answered with status {reply.status}" + (f": {said}" if said else "")
        if reply.status in PASSING:
            raise _Passing(Unreachable(sentence), reply.headers.get("retry-after"))
        if 400 <= reply.status < 500:
            raise Refused(sentence)
        raise BadPayload(f"{sentence}, which is no answer to what we asked")

    def _no_secure_connection(self, error: Exception) -> Exception:
        """A certificate that does not hold, or anything else about the encryption."""
        for link in _chain(error):
            if isinstance(link, ssl.SSLCertVerificationError):
                return Unreachable(f"{self.source} cannot be trusted: {link.verify_message}")
        return Unreachable(f"{self.source} could not be reached: no secure connection was made")

    def _in_words(self, error: Exception) -> Exception:
        """What kept the reply from us: silence as trouble that may pass, anything else as an error.

        A machine that is not there, or breaks off, is not asked again: another service or an earlier answer is nearer.
        """
        name, limits = self.source, self.limits
        if isinstance(error, requests.exceptions.SSLError):
            return self._no_secure_connection(error)
        if isinstance(error, requests.exceptions.ContentDecodingError):
            return BadPayload(f"{name}: the answer cannot be unpacked")
        if isinstance(error, requests.exceptions.ChunkedEncodingError):
            return BadPayload(f"{name}: the answer is cut short")
        if isinstance(error, requests.exceptions.ConnectTimeout):
            return _Passing(Unreachable(f"{name} could not be reached within {limits.connect_s:g} s"))
        if isinstance(error, requests.exceptions.ReadTimeout) or _holds(error, ReadTimeoutError):
            return _Passing(Unreachable(f"{name} was silent for {limits.read_s:g} s"))
        if isinstance(error, requests.exceptions.ConnectionError):
            return Unreachable(f"{name} could not be reached: {_cause(error)}")
        return Unreachable(f"{name} could not be asked: {_cause(error)}")


class GaveUp(threading.Event):
    """Set once nobody waits for a job any longer."""

    end: Callable[[], None] | None = None
    """What ends the job's own waiting, where it can be ended."""

    def set(self) -> None:
        """Say so, and end that waiting."""
        super().set()
        if self.end is not None:
            with suppress(ValueError, RuntimeError, OSError):  # its connection is closed, or given back, already
                self.end()


def in_time(seconds: float, job: Callable[[GaveUp], T]) -> T:
    """What ``job`` returns or raises; TimeoutError after so many seconds, and the event it was given is set."""
    done: queue.SimpleQueue[tuple[T | None, BaseException | None]] = queue.SimpleQueue()
    gave_up = GaveUp()

    def run() -> None:
        try:
            done.put((job(gave_up), None))
        except BaseException as error:  # noqa: BLE001 - raised again below, where somebody waits for it
            done.put((None, error))

    threading.Thread(target=run, daemon=True, name="weather").start()
    try:
        value, error = done.get(timeout=max(seconds, 0.0))
    except queue.Empty:
        gave_up.set()
        raise TimeoutError from None
    if error is not None:
        raise error
    return value  # type: ignore[return-value]  # None only where the job returns None


def _no_login(request: requests.PreparedRequest) -> requests.PreparedRequest:
    """Keeps requests from looking for a password in ~/.netrc: no service here needs one."""
    return request


def _chain(error: BaseException | None) -> list[BaseException]:
    """An error and what it came from, outermost first."""
    found: list[BaseException] = []
    while error is not None and error not in found:
        found.append(error)
        inner = next((part for part in error.args if isinstance(part, BaseException)), None)
        error = error.__cause__ or error.__context__ or inner
    return found


def _holds(error: Exception, sort: type[BaseException]) -> bool:
    return any(isinstance(link, sort) for link in _chain(error))


def _cause(error: Exception) -> str:
    """The innermost reason that the system gave, in its words."""
    chain = _chain(error)
    if any(isinstance(link, socket.gaierror) for link in chain):
        return "its name could not be looked up"
    said = [link.strerror for link in chain if isinstance(link, OSError) and isinstance(link.strerror, str)]
    return said[-1].lower() if said else "the connection broke"
