from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from scheduler.errors import BadSetting
from scheduler.faces.asking import SAMPLE_SITE, BatchFlags, Flags, moment, question
from scheduler.faces.asking_freezing import FreezingFlags, with_record, with_rule
from scheduler.household.batch import Batch
from scheduler.service import plan

ZONE = ZoneInfo("America/New_York")
NOW = datetime(2026, 10, 17, 14, 0, tzinfo=ZONE)
SAMPLE = Flags(None, sample=True, weather=None, now="2026-10-17T14:00")


def record(said: FreezingFlags, *, sample: bool = False, state: str = "frozen") -> Batch:
    """The batch's record as those flags make it."""
    return with_record(Batch(state=state), said, NOW, lambda given, flag: moment(given, ZONE, flag), sample=sample)


def asked(**freezing: object) -> str:
    """How the sample's record stands with these flags."""
    return plan(question(SAMPLE, BatchFlags(freezing=FreezingFlags(**freezing)))).freezing.standing


def test_who_says_nothing_has_no_record():
    said = record(FreezingFlags())
    assert (said.frozen_since, said.freezer_c, said.freezer_measured, said.farmed) == (None, None, False, False)


def test_flags_become_the_record():
    said = record(FreezingFlags("2026-10-01T08:00", "0 F", measured=True, farmed=True))
    assert said.frozen_since == datetime(2026, 10, 1, 8, 0, tzinfo=ZONE)
    assert said.freezer_c == pytest.approx(-17.7778, abs=1e-4)
    assert said.freezer_measured
    assert said.farmed


def test_a_freezer_is_not_measured_unless_somebody_says_so():
    assert not record(FreezingFlags(freezer="-20 C")).freezer_measured
    assert not record(FreezingFlags(freezer="-18 C"), sample=True).freezer_measured


def test_the_samples_record_meets_a_rule_and_its_fresh_fish_has_none():
    assert asked() == "met"
    assert record(FreezingFlags(), sample=True, state="fresh").frozen_since is None


def test_what_is_said_of_the_sample_replaces_its_record():
    assert asked(since="2026-10-12T14:00") == "unfinished"
    assert asked(freezer="-10 C") == "no_way"
    assert asked(farmed=True) == "exempt"


def test_the_european_rule_is_asked_for_or_the_sites():
    assert asked(since="2026-10-14T14:00", eu_rule=True) == "met"
    assert asked(since="2026-10-14T14:00") == "unfinished"
    assert with_rule(SAMPLE_SITE, FreezingFlags()) == SAMPLE_SITE


@pytest.mark.parametrize(
    ("said", "told"),
    [
        (FreezingFlags(measured=True), "--freezer-measured needs what was measured"),
        (FreezingFlags(freezer="3 C"), "--freezer: '3 C' is no freezer's temperature"),
        (FreezingFlags(freezer="-20"), "--freezer: '-20' may be °F or °C"),
        (FreezingFlags(since="last week"), "--frozen-since: 'last week' is no time"),
    ],
)
def test_what_cannot_be_used_is_refused_by_its_flag(said, told):
    with pytest.raises(BadSetting, match=told):
        record(said)
