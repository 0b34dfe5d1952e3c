"""Odd, hostile and random requests over real connections: no error of ours, nothing told, nothing logged."""

from __future__ import annotations

import logging
import re
from string import printable
from typing import TYPE_CHECKING, Any
from urllib.parse import unquote

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from odd_requests import FEED, MINE, ODD, PAGES, TELLING, THEIRS, answer_to, asked, statuses, two_sites
from web_server import serving

from scheduler.faces.web.app import app_of

if TYPE_CHECKING:
    from collections.abc import Iterator

THERE = {"/health", *(f"/s/{MINE}/{page}" for page in PAGES)}
ANSWERS = re.compile(r"(200|304|400|404|405)?( (200|304|400|404|405))*")

many = settings(max_examples=800, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow])


class Kept(logging.Handler):
    """Every record that anything in the process logs, as it would be written."""

    def __init__(self) -> None:
        super().__init__(level=0)
        self.lines: list[tuple[int, str]] = []
        self.setFormatter(logging.Formatter("%(name)s %(message)s"))

    def emit(self, record: logging.LogRecord) -> None:
        self.lines.append((record.levelno, self.format(record)))


@pytest.fixture(scope="module")
def logged() -> Iterator[Kept]:
    """The log of a process that writes down all it can."""
    kept, root = Kept(), logging.getLogger()
    before = root.level
    root.addHandler(kept)
    root.setLevel(1)
    yield kept
    root.removeHandler(kept)
    root.setLevel(before)


@pytest.fixture(scope="module")
def port(logged) -> Iterator[int]:
    with serving(two_sites()) as port:
        yield port


def without_date(answer: bytes) -> bytes:
    return re.sub(rb"\r\ndate: [^\r]*", b"", answer)


@pytest.mark.parametrize("name", ODD)
def test_an_odd_request_gets_the_answer_it_should_and_no_other(port, name):
    raw, expected = ODD[name]
    answer = answer_to(port, raw)
    assert re.fullmatch(expected, statuses(answer)), answer[:300]
    assert not TELLING.search(answer)


def test_whatever_is_not_there_is_answered_alike_to_the_byte_however_it_was_asked_for(port):
    answers = {without_date(answer_to(port, raw)) for raw, expected in ODD.values() if expected == "404"}
    assert len(answers) == 1


ODD_PARTS = [
    *("s", "health", ".", "..", "%2e%2e", "%2E", "%00", "%0a", "%0d%0a", "%2f", "%252f", ";a=b", "%ff", "%c0%ae"),
    *("\\", "*", "~", "%", "%s%n", "${x}", "etc", "%73moke.ics"),
]
PART = st.one_of(
    st.sampled_from([MINE, THEIRS[:-1], MINE[:-1], MINE + "x", MINE.lower(), *PAGES, *ODD_PARTS]),
    st.text(st.characters(min_codepoint=0x21, max_codepoint=0x7E, exclude_characters="?"), max_size=6),
)
JOINT = st.sampled_from(["/", "/", "/", "//", "%2f", "%5c", "/%20", "/./", "/../"])
PATHS = st.one_of(
    st.lists(st.tuples(JOINT, PART), min_size=1, max_size=6).map(lambda parts: "".join(a + b for a, b in parts)),
    st.tuples(st.sampled_from(sorted(THERE)), PART).map("".join),
)
LINES = st.text(st.characters(max_codepoint=0xFF, exclude_characters="\r\n"), max_size=40)
HEADER_NAMES = [
    *("Host", "Range", "If-None-Match", "If-Modified-Since", "Accept-Encoding", "Content-Length", "Transfer-Encoding"),
    *("Expect", "Upgrade", "Connection", "Cookie", "Origin", "Referer", "X-Forwarded-For", "X-HTTP-Method-Override"),
]
HEADER_VALUES = ["chunked", "gzip", "*", "0", "1", "-1", "close", "keep-alive", "websocket", "PUT"]
HEADERS = st.one_of(
    st.tuples(st.sampled_from(HEADER_NAMES), st.one_of(LINES, st.sampled_from(HEADER_VALUES))).map(": ".join), LINES
)
METHODS = st.one_of(st.sampled_from(["GET", "HEAD", "POST", "CONNECT", "TRACE"]), st.text(printable, max_size=8))


@many
@given(PATHS, st.one_of(st.just(""), st.text("abc=&%?/", max_size=8).map("?".__add__)))
def test_only_the_addresses_that_there_are_are_answered(port, path, query):
    answer = answer_to(port, asked(path + query, "Connection: close"))
    assert statuses(answer) == ("200" if unquote(path) in THERE else "404"), path
    assert not TELLING.search(answer)


@many
@given(
    METHODS,
    PATHS,
    st.sampled_from(["HTTP/1.1", "HTTP/1.0", "HTTP/2", ""]),
    st.lists(HEADERS, max_size=4),
    st.binary(max_size=60),
)
def test_no_request_gets_an_error_of_ours_or_anything_that_tells(port, method, path, version, headers, body):
    answer = answer_to(port, asked(path, *headers, method=method, version=version) + body)
    assert ANSWERS.fullmatch(statuses(answer)), answer[:300]
    assert not TELLING.search(answer)


@many
@given(st.binary(max_size=200), st.integers(0, 120))
def test_bytes_that_are_no_request_get_none_either(port, raw, kept):
    answer = answer_to(port, asked(FEED)[:kept] + raw)
    assert ANSWERS.fullmatch(statuses(answer)), answer[:300]
    assert not TELLING.search(answer)


NAMES = st.sampled_from([b"if-none-match", b"if-modified-since", b"accept-encoding"])
WORDS = [
    *("", "Sat,", "17", "0", "-1", "Oct", "Oktember", "2026", "99", "99999999999", "18:00:00", "99:99", "GMT"),
    *("+9999", "-0000", "("),
]
DATES = st.lists(st.sampled_from(WORDS), max_size=7).map(" ".join)


APP = app_of(two_sites())


@many
@given(st.lists(st.tuples(NAMES, st.one_of(DATES.map(str.encode), st.binary(max_size=60))), max_size=4))
def test_no_condition_and_no_encoding_upsets_an_answer(headers):
    sent: list[dict[str, Any]] = []

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    scope = {"type": "http", "method": "GET", "path": FEED, "root_path": "", "headers": headers}
    with pytest.raises(StopIteration):
        APP(scope, None, send).send(None)  # runs to its end, as it waits for nothing
    assert sent[0]["status"] in (200, 304)


def test_after_all_that_the_feed_is_served_and_the_log_holds_no_secret_and_no_error(port, logged):
    assert statuses(answer_to(port, asked(FEED))) == "200"
    assert not [line for _, line in logged.lines if MINE[:20] in line]
    assert not [line for level, line in logged.lines if level >= logging.ERROR]
