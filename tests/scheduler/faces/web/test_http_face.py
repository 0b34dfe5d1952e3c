"""What the server answers over real HTTP: what is there, what is not, and nothing that tells the two apart early."""

from __future__ import annotations

import gzip
import logging
import time
from datetime import UTC, datetime, timedelta

import pytest
import requests
from web_server import say, serving

from scheduler.faces.web import listening
from scheduler.faces.web.shelf import Body, Shelf

SECRET = "k" * 43
CHANGED = datetime(2026, 10, 17, 18, 0, tzinfo=UTC)
FEED = b"BEGIN:VCALENDAR\r\n" + b"X-LINE:words\r\n" * 500 + b"END:VCALENDAR\r\n"


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    shelf = Shelf()
    pages = {
        "smoke.ics": Body(FEED, "text/calendar; charset=utf-8", CHANGED),
        "": Body(b"<!doctype html><p>hello</p>", "text/html; charset=utf-8", CHANGED),
    }
    shelf.place(SECRET, pages)
    shelf.health = Body(b"{}", "application/json", CHANGED)
    return shelf


@pytest.fixture(scope="module")
def port(shelf):
    with serving(shelf) as port:
        yield port


@pytest.fixture
def url(port) -> str:
    return f"http://127.0.0.1:{port}/s/{SECRET}"


def test_the_feed_is_sent_whole_with_its_type_and_charset(url):
    answer = requests.get(f"{url}/smoke.ics", timeout=5)
    assert answer.content == FEED
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"


@pytest.mark.parametrize("page", ["", "smoke.ics"])
def test_nobody_keeps_guesses_or_passes_on_what_is_sent(url, page):
    headers = requests.get(f"{url}/{page}", timeout=5).headers
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert "noindex" in headers["x-robots-tag"]
    assert headers["cache-control"].startswith("private")
    assert "server" not in headers
    assert "set-cookie" not in headers


def test_gzip_is_sent_to_who_takes_it_with_a_tag_of_its_own(url):
    packed = requests.get(f"{url}/smoke.ics", headers={"Accept-Encoding": "gzip"}, timeout=5, stream=True)
    raw = packed.raw.read()
    assert gzip.decompress(raw) == FEED
    assert len(raw) == int(packed.headers["content-length"])
    plain = requests.get(f"{url}/smoke.ics", headers={"Accept-Encoding": "identity"}, timeout=5)
    assert plain.headers["etag"] != packed.headers["etag"]
    assert plain.headers["vary"] == "Accept-Encoding"


@pytest.mark.parametrize(
    ("asked", "packed"),
    [
        ("gzip;q=0", False),
        ("gzip; q=0.000", False),
        ("gzip;q=0.5", True),
        ("br, GZIP", True),
        ("br", False),
        ("", False),
    ],
)
def test_a_refused_encoding_is_not_sent(url, asked, packed):
    answer = requests.get(f"{url}/smoke.ics", headers={"Accept-Encoding": asked}, timeout=5)
    assert (answer.headers.get("content-encoding") == "gzip") is packed


@pytest.mark.parametrize("form", ["{}", "W/{}", '"other", {}', "*"])
def test_who_holds_the_newest_is_told_that_nothing_changed(url, form):
    tag = requests.get(f"{url}/smoke.ics", timeout=5).headers["etag"]
    answer = requests.get(f"{url}/smoke.ics", headers={"If-None-Match": form.format(tag)}, timeout=5)
    assert (answer.status_code, answer.content) == (304, b"")
    assert answer.headers["etag"] == tag
    assert "content-type" not in answer.headers


def test_a_tag_that_does_not_match_outweighs_a_date_that_does(url):
    headers = {"If-None-Match": '"other"', "If-Modified-Since": "Fri, 01 Jan 2100 00:00:00 GMT"}
    assert requests.get(f"{url}/smoke.ics", headers=headers, timeout=5).status_code == 200


@pytest.mark.parametrize(
    ("since", "status"),
    [
        (CHANGED, 304),
        (CHANGED + timedelta(days=1), 304),
        (CHANGED - timedelta(seconds=1), 200),
        ("not a date", 200),
        ("Sat, 17 Oct 99999 18:00:00 GMT", 200),
        ("Sat, 17 Oct 2026 18:00:00", 304),
    ],
)
def test_without_a_tag_the_date_decides_and_a_bad_one_is_ignored(url, since, status):
    text = since if isinstance(since, str) else f"{since:%a, %d %b %Y %H:%M:%S} GMT"
    assert requests.get(f"{url}/smoke.ics", headers={"If-Modified-Since": text}, timeout=5).status_code == status


def test_head_is_get_without_the_body(url):
    get, head = requests.get(f"{url}/smoke.ics", timeout=5), requests.head(f"{url}/smoke.ics", timeout=5)
    assert head.content == b""
    same = {name: value for name, value in get.headers.items() if name != "date"}
    assert {name: value for name, value in head.headers.items() if name != "date"} == same


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS", "PATCH", "TRACE", "PROPFIND", "QUITE-OTHER"])
@pytest.mark.parametrize("path", [f"/s/{SECRET}/smoke.ics", "/s/wrong/smoke.ics", "/", "/health"])
def test_nothing_but_get_and_head_is_answered_and_every_path_says_it_alike(port, method, path):
    answer = requests.request(method, f"http://127.0.0.1:{port}{path}", timeout=5)
    assert (answer.status_code, answer.headers["allow"]) == (405, "GET, HEAD")


MISSING = [
    "/", "/s", "/s/", "/favicon.ico", "/robots.txt", "/.well-known/x", "/s/wrong/", "/s/wrong/smoke.ics",
    f"/s/{SECRET}", f"/s/{SECRET}/other", f"/s/{SECRET}/smoke.ics/", f"/s/{SECRET[:-1]}/smoke.ics",
    f"/s/{SECRET}x/smoke.ics", f"/S/{SECRET}/smoke.ics", f"//s/{SECRET}/smoke.ics", f"/s/{SECRET}/%2e%2e/smoke.ics",
    f"/s/{SECRET}/smoke.ics%00", f"/s/{SECRET.upper()}/smoke.ics", "/s/%ff%fe/smoke.ics", "/s/../health", "/health/",
    f"/s//{SECRET}/smoke.ics", "/" + "a" * 8000,
]  # fmt: skip


def test_every_address_where_nothing_is_gets_the_same_answer_to_the_byte(port):
    answers = set()
    for path in MISSING:
        raw = say(port, b"GET %s HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n" % path.encode())
        head, _, body = raw.partition(b"\r\n\r\n")
        lines = [line for line in head.split(b"\r\n") if not line.lower().startswith(b"date:")]
        answers.add((b"\r\n".join(lines), body))
    ((head, body),) = answers
    assert head.startswith(b"HTTP/1.1 404 ")
    assert b"here" in body


def test_a_whole_answer_waits_for_no_acknowledgement(url):
    waits = []
    with requests.Session() as session:  # one connection; a delayed acknowledgement takes 40 ms
        for _ in range(60):
            start = time.perf_counter()
            session.get(f"{url}/smoke.ics", headers={"Accept-Encoding": "identity"}, timeout=5)
            waits.append(time.perf_counter() - start)
    assert min(waits[-30:]) < 0.03, "not one: the first few are acknowledged at once anyhow, and a busy machine is slow"


def test_no_secret_is_logged(url, caplog):
    with caplog.at_level(logging.DEBUG):
        requests.get(f"{url}/smoke.ics", timeout=5)
        requests.get(f"{url}/wrong", timeout=5)
    ours = [record.getMessage() for record in caplog.records if not record.name.startswith("urllib3")]
    assert not [line for line in ours if SECRET in line]


def test_a_new_secret_closes_the_old_address_at_once():
    shelf = Shelf()
    pages = {"smoke.ics": Body(FEED, "text/calendar; charset=utf-8", CHANGED)}
    shelf.place("old", pages)
    assert shelf.find("old", "smoke.ics") is not None
    shelf.close("old")
    shelf.place("new", pages)
    assert shelf.find("old", "smoke.ics") is None
    assert shelf.find("new", "smoke.ics") is not None


GARBAGE = [
    b"\x00\xff\xfe\r\n\r\n", b"GET\r\n\r\n", b"GET / HTTP/9.9\r\n\r\n", b"GET / HTTP/1.1\r\n\r\n",
    b"GET /\xc3\xa4 HTTP/1.1\r\nHost: x\r\n\r\n", b"GET / HTTP/1.1\r\nHost: x\r\nContent-Length: -5\r\n\r\n",
    b"GET / HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n",
    b"GET " + b"a" * 70000 + b" HTTP/1.1\r\n\r\n",
    b"GET / HTTP/1.1\r\nHost: x\r\n" + b"X: y\r\n" * 20000 + b"\r\n", b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
    b"GET * HTTP/1.1\r\nHost: x\r\n\r\n", b"GET http://elsewhere/ HTTP/1.1\r\nHost: x\r\n\r\n",
    b"GET / HTTP/1.1\r\nHost: x\r\nUpgrade: websocket\r\nConnection: upgrade\r\n\r\n",
    b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc",
]  # fmt: skip


@pytest.mark.parametrize("raw", GARBAGE, ids=range(len(GARBAGE)))
def test_garbage_gets_a_refusal_or_a_closed_line_and_the_next_one_is_served(port, url, raw):
    answer = say(port, raw, wait_s=0.5)
    assert answer == b"" or answer.split(b" ")[1][:1] == b"4"
    assert requests.get(f"{url}/smoke.ics", timeout=5).status_code == 200


def test_a_request_that_trickles_in_is_cut_off(shelf, monkeypatch):
    monkeypatch.setattr(listening, "PATIENCE_S", 0.2)
    with serving(shelf) as port:
        assert say(port, b"GET / HTTP/1.1\r\nHost: x\r\nX-Slow: ", wait_s=5) == b""


def test_an_answer_that_is_not_taken_is_cut_off_and_one_that_is_taken_slowly_is_not(shelf, monkeypatch):
    monkeypatch.setattr(listening, "PATIENCE_S", 0.3)
    ask = f"GET /s/{SECRET}/smoke.ics HTTP/1.1\r\nHost: x\r\n\r\n".encode()
    with serving(shelf) as port:
        answers = say(port, ask * 3, wait_s=3)
    assert answers.count(b"200 OK") == 3
