"""One way to ask a weather service: who we are, not too often, not for too long, and never more than needed.

The rules are those that the services publish: MET Norway's terms of service (identity, decimals, Expires,
If-Modified-Since), the pages of the US National Weather Service's API (User-Agent), and Open-Meteo's terms
(requests a day).
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from decimal import ROUND_DOWN, Decimal
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from providers.addresses import checked_address
from providers.answer_store import AnswerStore, Stored
from providers.errors import BadPayload, BadQuestion, WeatherError
from providers.freshness import KEPT_HEADERS, conditions, http_date, lifetime
from providers.payload import parse_json
from providers.watching import WATCH

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path
    from random import Random

    from providers.exchange import Reply

NO_TIME = timedelta(0)
MOST_DECIMALS = 4  # MET Norway terms of service: more decimals in a position are answered with 403
DECIMALS = 3
"""About 100 m: finer than any weather model, coarse enough for two neighbours to share a cache."""


class BadContact(BadQuestion):
    """The contact that services are told cannot be sent as it is."""


@dataclass(frozen=True, slots=True)
class Limits:
    """How much one question may cost."""

    connect_s: float = 10.0
    read_s: float = 30.0
    """Longest silence of a service that was reached."""
    total_s: float = 90.0
    """All tries, pauses and redirects together."""
    retries: int = 2
    retry_after_s: float = 30.0
    """Longest pause asked for by a service (Retry-After) that is waited for; beyond it we give up at once."""
    redirects: int = 3
    body_bytes: int = 8 * 2**20
    """Largest body, unpacked."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What a service said, now or earlier."""

    body: bytes
    fetched_at: datetime
    """When the body came in (UTC)."""
    issued: datetime | None
    """The service's ``Last-Modified`` (UTC); None where it gave none."""
    fresh_until: datetime
    """Until when it is not asked again (UTC)."""
    from_cache: bool
    """The body was on disk already."""
    stale_because: str | None = None
    """Why nothing newer could be had, as a sentence; None where this is fresh."""
    notes: tuple[str, ...] = ()
    """What a person should know of it, as sentences."""


@dataclass(frozen=True, slots=True)
class _Question:
    url: str
    source: str
    accept: str
    min_ttl: timedelta
    check: Callable[[Answer], object] | None


def identity(version: str, contact: str | None) -> str:
    """The User-Agent: the project's name and version, and who runs it where that person said so.

    Raises BadContact unless the contact can stand in a header's comment (RFC 9110, section 5.6.5).
    """
    if contact is None or not contact.strip():
        return f"smokenight/{version}"
    if not (contact.isascii() and contact.isprintable()) or any(char in contact for char in "()\\"):
        raise BadContact(
            f"the contact {contact!r} cannot be sent to a weather service; plain letters, digits and signs"
            " without brackets can, like cook@example.org"
        )
    return f"smokenight/{version} ({contact})"


def cut_coordinate(deg: float, decimals: int = DECIMALS) -> str:
    """A coordinate [deg] for an address: cut, not rounded, to at most 4 decimals, without padding zeros.

    >>> cut_coordinate(-0.29999), cut_coordinate(52.0)
    ('-0.299', '52')
    """
    if not 0 <= decimals <= MOST_DECIMALS:
        raise ValueError(f"decimals must be 0 to {MOST_DECIMALS}, not {decimals}")
    if not -360.0 <= deg <= 360.0:
        raise ValueError(f"a coordinate must be a number of degrees, not {deg}")
    # By way of the shortest decimal that names the float: 0.29 stays 0.29, not 0.28.
    cut = Decimal(repr(float(deg))).quantize(Decimal(1).scaleb(-decimals), ROUND_DOWN)
    return f"{cut.normalize() + 0:f}"


@dataclass(frozen=True, slots=True, kw_only=True)
class PoliteClient:
    """Asks weather services, and keeps the last good answer of each."""

    identity: str
    """The User-Agent header, made by ``identity``."""
    cache_folder: Path
    clock: Callable[[], datetime]
    """Now, zone-aware."""
    rng: Random
    """Spreads the pauses between tries."""
    sleep: Callable[[float], None] = time.sleep
    monotonic: Callable[[], float] = time.monotonic
    """Seconds of a clock that is never set; it measures the total time limit."""
    limits: Limits = Limits()

    def hurried(self) -> PoliteClient:
        """The same client for what is asked beside or after something else: a person is waiting."""
        own = self.limits
        most = replace(own, connect_s=min(own.connect_s, 5.0), read_s=min(own.read_s, 10.0),
                       total_s=min(own.total_s, 20.0), retries=min(own.retries, 1))  # fmt: skip
        return replace(self, limits=most)

    def get(
        self,
        url: str,
        params: Mapping[str, str],
        *,
        source: str,
        check: Callable[[Answer], object] | None = None,
        accept: str = "application/json",
        min_ttl: timedelta = NO_TIME,
    ) -> Answer:
        """Ask, unless the answer at hand still holds; fall back on it where nothing newer can be had.

        ``source`` names the service in messages.  ``check`` raises BadPayload for a body that is no use
        (without one the body must be JSON): such a body never replaces a good one.  ``min_ttl`` is how long an
        answer holds at least, for services that do not say.

        Raises Unreachable, Refused or BadPayload where there is no earlier answer either.
        """
        where = checked_address(f"{url}?{urlencode(params, safe=',', errors='replace')}" if params else url)
        question = _Question(where, source, accept, min_ttl, check)
        stored = self._known_good(question)
        held = None if stored is None else _answer(stored, question)
        if stored is not None and held is not None and stored.confirmed_at <= self.clock() < held.fresh_until:
            return held
        try:
            return self._ask(question, stored)
        except WeatherError as error:
            if held is None:
                raise
            return replace(held, stale_because=str(error))

    def _known_good(self, question: _Question) -> Stored | None:
        """The stored answer, unless this version of the program can make nothing of it."""
        stored = AnswerStore(self.cache_folder).read(question.url)
        try:
            if stored is not None:
                _check(_answer(stored, question), question)
        except BadPayload:
            return None
        return stored

    def _ask(self, question: _Question, stored: Stored | None) -> Answer:
        from providers.exchange import Exchange  # brings in requests, which an answer at hand does not need

        asked_if = {} if stored is None else conditions(stored.headers)
        headers = {
            "User-Agent": self.identity,
            "Accept": question.accept,
            "Accept-Encoding": "gzip",
            "Connection": "close",
            **asked_if,
        }
        exchange = Exchange(question.source, self.limits, self.rng, self.sleep, self.monotonic, self.clock)
        with WATCH.get()(question.source, self.limits.total_s):
            reply = exchange.ask(question.url, headers)
        now = self.clock().astimezone(UTC)
        if reply.status == 304:
            if stored is None or not asked_if:
                raise BadPayload(f"{question.source} answered 'not modified' (304) to a question without conditions")
            # RFC 9111, section 4.3.4: the stored body, under the headers of the 304
            headers_now = {**stored.headers, **_kept_headers(reply)}
            return self._kept(replace(stored, headers=headers_now, confirmed_at=now), question, from_cache=True)
        new = Stored(question.url, reply.status, _kept_headers(reply), now, now, reply.body)
        _check(_answer(new, question), question)
        return self._kept(new, question, from_cache=False)

    def _kept(self, stored: Stored, question: _Question, *, from_cache: bool) -> Answer:
        """Put an answer on disk; a disk that does not take it costs a note, not the answer."""
        answer = replace(_answer(stored, question), from_cache=from_cache)
        try:
            AnswerStore(self.cache_folder).write(stored)
        except OSError as error:
            where = f"{self.cache_folder}: {error.strerror}"
            note = f"the answer of {question.source} could not be kept in {where}"
            return replace(answer, notes=(*answer.notes, note))
        return answer


def _answer(stored: Stored, question: _Question) -> Answer:
    ending = (f"{question.source} marks what we asked for as on trial or about to end (status 203)",)
    holds = max(lifetime(stored.headers, stored.confirmed_at), question.min_ttl)
    return Answer(
        body=stored.body,
        fetched_at=stored.fetched_at,
        issued=http_date(stored.headers.get("last-modified")),
        fresh_until=stored.confirmed_at + holds,
        from_cache=True,
        notes=ending if stored.status == 203 else (),
    )


def _check(answer: Answer, question: _Question) -> None:
    if question.check is None:
        parse_json(answer.body, question.source, expect=object)
    else:
        question.check(answer)


def _kept_headers(reply: Reply) -> dict[str, str]:
    return {name: reply.headers[name] for name in KEPT_HEADERS if name in reply.headers}
