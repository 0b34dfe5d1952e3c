"""Bodies and words of strangers."""

from __future__ import annotations

from contextlib import suppress

import faults
import pytest
from hypothesis import given
from hypothesis import strategies as st

from providers.errors import BadPayload
from providers.payload import BareNan, one_line, parse_json
from providers.service_words import reason_in


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        (b'{"a": NaN}', "holds NaN"),
        (b'{"a": nan}', "holds nan"),
        (b'{"a": -Infinity}', "holds -Infinity"),
        (b'{"a": inf}', "holds inf"),
    ],
)
def test_bare_nan_and_infinity_are_told_apart(body, sentence):
    with pytest.raises(BareNan, match=sentence):
        parse_json(body, "the service")


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        (b"", "nothing"), (b" \n", "nothing"), (b"  <html>", "web page"), (b"[1]", "a list where an object"),
        (b"null", "null where an object"), (b'{"a": 1', "cut short"), (b'{"a": [1, 2', "cut short"),
        (b'{"a": "b', "cut short"), (b'{"a": 1} x', "not JSON"), (b'{"a": 1}{"a": 1}', "not JSON"),
        (b'{"a": 1, "a": 2}', "'a' twice"), (b'{"x": {"a": 1, "a": 1}}', "'a' twice"), (b"[" * 100000, "not JSON"),
        (b'{"a":' * 100000, "not JSON"), (b'{"a": ' + b"9" * 5000 + b"}", "not JSON"), (b"\xff\xfe\xff", "not JSON"),
        (b"\x80abc", "not JSON"), (b"true", "true or false where"), (b"Too many requests", "not JSON"),
    ],
)  # fmt: skip
def test_what_is_no_json_object_is_a_bad_answer(body, sentence):
    with pytest.raises(BadPayload, match=sentence):
        parse_json(body, "the service")


@pytest.mark.parametrize(("body", "expect"), [(b"[1]", list), (b"3", object), (b"[1]", object)])
def test_the_caller_says_what_the_top_must_be(body, expect):
    assert parse_json(body, "the service", expect=expect) is not None


@given(st.binary())
def test_any_bytes_are_an_object_or_a_bad_answer(body):
    with suppress(BadPayload):
        assert isinstance(parse_json(body, "the service"), dict)


@given(st.text())
def test_a_strangers_text_is_one_short_printable_line(text):
    line = one_line(text)
    assert len(line) <= 200
    assert line.isprintable()
    line.encode()


@pytest.mark.parametrize(
    ("body", "reason"),
    [
        (b'{"error": true, "reason": "No data is available"}', "No data is available"),
        (b'{"type": "urn:x", "title": "Forecast Grid Expired", "status": 503}', "Forecast Grid Expired"),
        (b'{"title": "Invalid", "detail": "Data Unavailable"}', "Data Unavailable"),
        (b'{"reason": 5, "detail": null}', ""), (b"", ""), (b"  ", ""), (b"[1]", "[1]"),
        (b"plain\r\n\x1b[2Jtext", "plain [2Jtext"),
        (faults.HTML, "Sign in to the guest network"), (b"\xff\xfe", "��"), (b"x" * 500, "x" * 199 + "…"),
        (b"[" * 100000, "[" * 199 + "…"),
    ],
)  # fmt: skip
def test_a_services_reason_is_found_in_whatever_it_sends(body, reason):
    assert reason_in(body) == reason
