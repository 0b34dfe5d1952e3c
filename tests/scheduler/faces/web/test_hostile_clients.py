"""Clients that are slow, many, or never done: others are served all the same, and the line is taken back."""

from __future__ import annotations

import logging
import resource
import socket
import time
from contextlib import ExitStack

import pytest
from odd_requests import FEED, answer_to, asked, statuses, two_sites
from web_server import say, serving

from scheduler.faces.web import listening

PATIENCE_S = 1.0
ENOUGH_S = 20.0
"""For a loaded machine; what is measured against it takes two patiences on an idle one."""


@pytest.fixture(scope="module", autouse=True)
def files():
    """Room for both ends of every connection in this one process."""
    before = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (max(before[0], min(before[1], 4096)), before[1]))
    yield
    resource.setrlimit(resource.RLIMIT_NOFILE, before)


@pytest.fixture(scope="module")
def port():
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(listening, "PATIENCE_S", PATIENCE_S)
        with serving(two_sites()) as port:
            yield port


def opened(stack: ExitStack, port: int, count: int, first: bytes = b"") -> list[socket.socket]:
    """So many connections that all said this much, and stay."""
    links = [stack.enter_context(socket.create_connection(("127.0.0.1", port), timeout=ENOUGH_S)) for _ in range(count)]
    for link in links:
        link.sendall(first)
    return links


def is_closed(link: socket.socket, wait_s: float) -> bool:
    """Whether the other side hangs up within that time, whatever it says before."""
    link.settimeout(wait_s)
    try:
        while link.recv(65536):
            pass
    except TimeoutError:
        return False
    except ConnectionResetError:
        pass
    return True


def keeps_taking(link: socket.socket, data: bytes, pause_s: float) -> bool:
    """Whether these bytes, sent again and again, are still taken when enough time has passed."""
    end = time.monotonic() + ENOUGH_S
    while time.monotonic() < end:
        try:
            link.send(data)
        except TimeoutError:
            continue
        except ConnectionError:
            return False
        time.sleep(pause_s)
    return True


BEGUN = {
    "nothing": b"",
    "half a line": b"GET /s/",
    "headers without an end": b"GET / HTTP/1.1\r\nHost: x\r\nX: ",
    "a body that never comes": asked(FEED, "Content-Length: 1000000"),
    "chunks that never end": asked(FEED, "Transfer-Encoding: chunked") + b"5\r\nhello\r\n",
}


@pytest.mark.parametrize("begun", BEGUN)
def test_five_hundred_unfinished_connections_keep_nobody_waiting_and_are_closed(port, begun):
    with ExitStack() as stack:
        links = opened(stack, port, 500, BEGUN[begun])
        start = time.monotonic()
        assert statuses(answer_to(port, asked(FEED), wait_s=ENOUGH_S)) == "200"
        assert time.monotonic() - start < ENOUGH_S / 2
        assert all(is_closed(link, ENOUGH_S) for link in links)


def test_a_header_that_trickles_in_byte_by_byte_is_cut_off(port):
    with ExitStack() as stack:
        (link,) = opened(stack, port, 1, b"GET / HTTP/1.1\r\nHost: x\r\nX: ")
        assert not keeps_taking(link, b"a", 0.05)


def test_a_body_without_an_end_is_not_read_to_its_end(port):
    with ExitStack() as stack:
        (link,) = opened(stack, port, 1, asked(FEED, "Content-Length: 1000000000000"))
        assert not keeps_taking(link, b"a" * 65536, 0)


def test_a_client_that_never_reads_its_thousand_answers_is_cut_off(port):
    with ExitStack() as stack:
        link = stack.enter_context(socket.socket())
        link.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        link.settimeout(0.2)
        link.connect(("127.0.0.1", port))
        assert not keeps_taking(link, asked(FEED) * 1000, 0)


def test_who_shuts_its_own_side_after_asking_is_still_answered(port):
    assert statuses(answer_to(port, asked(FEED))) == "200"


def test_a_garbled_body_after_the_answer_ends_the_line_and_nothing_else(port, caplog):
    with caplog.at_level(logging.DEBUG), ExitStack() as stack:
        (link,) = opened(stack, port, 1, asked("/", "Transfer-Encoding: chunked"))
        assert link.recv(65536).startswith(b"HTTP/1.1 404")
        assert not keeps_taking(link, b"zz\r\n", 0.01)
    assert not [record for record in caplog.records if record.levelno >= logging.WARNING]


def test_with_too_many_connections_the_oldest_makes_room_and_the_newest_is_served(monkeypatch):
    monkeypatch.setattr(listening, "MOST_CONNECTIONS", 20)
    with serving(two_sites()) as port, ExitStack() as stack:
        links = opened(stack, port, 25)
        assert statuses(answer_to(port, asked(FEED))) == "200"
        assert all(is_closed(link, ENOUGH_S) for link in links[:5])
        assert not is_closed(links[-1], 0.1)


def test_a_request_hidden_in_a_body_is_never_answered(port):
    hidden = asked(FEED, "Content-Length: 4", "Transfer-Encoding: chunked") + b"0\r\n\r\n" + asked("/health")
    answer = say(port, hidden, wait_s=ENOUGH_S)
    assert statuses(answer) == "200"
    assert b"connection: close" in answer
