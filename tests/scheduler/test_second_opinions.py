"""What a second forecast of the same nights adds: a sentence where it sees one otherwise, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest
from asked import NOW, PROCESS, SITE, made_forecast

from scheduler.household.batch import Batch
from scheduler.planning.answers import Night, Verdict
from scheduler.planning.opinions import with_opinion
from scheduler.service import Question, look

if TYPE_CHECKING:
    from providers.forecast import Forecast


def a_night(chance: float | None, day: int = 17, verdict: Verdict = Verdict.GOOD) -> Night:
    return Night(date(2026, 10, day), verdict, ("why",), 12.0, 15.6, chance=chance)


@pytest.mark.parametrize(
    ("own", "theirs", "is_told"),
    [
        (0.9, 0.64, True),
        (0.5, 0.76, True),
        (0.75, 0.5, False),
        (0.5, 0.75, False),
        (0.9, 0.66, False),
        (None, 0.1, False),
        (0.9, None, False),
    ],
)
def test_chances_more_than_25_points_apart_are_told_side_by_side(
    own: float | None, theirs: float | None, is_told: bool
) -> None:
    (night,) = with_opinion([a_night(own)], [a_night(theirs)], "here", "there")
    assert (len(night.reasons) == 2) is is_told
    if is_told:
        told = f"there sees it otherwise: it gives this night a chance of {theirs:.0%}, here one of {own:.0%}"
        assert night.reasons[1].replace(" %", "%") == told


def test_nothing_but_a_reason_changes_and_only_on_the_same_night() -> None:
    nights = [a_night(0.9, 17), a_night(0.9, 18)]
    found = with_opinion(nights, [a_night(0.1, 18, Verdict.NO), a_night(0.1, 19)], "here", "there")
    assert found[0] == nights[0]
    assert replace(found[1], reasons=("why",)) == nights[1]


def nights_beside(*others: Forecast) -> list[Night]:
    return list(look(Question(SITE, PROCESS, Batch(), made_forecast(days=4), NOW, others)))


def test_every_other_service_has_its_say() -> None:
    warm, hot = (replace(made_forecast(days=4, mean_c=mean), source=f"at {mean}") for mean in (19.0, 24.0))
    alone, (night, *_) = nights_beside(), nights_beside(warm, hot)
    assert night.reasons[: len(alone[0].reasons)] == alone[0].reasons
    assert [reason.partition(" sees")[0] for reason in night.reasons[len(alone[0].reasons) :]] == ["at 19.0", "at 24.0"]


@pytest.mark.parametrize(("age_h", "is_heard"), [(48, True), (49, False)])
def test_an_opinion_too_old_to_decide_a_night_is_none(age_h: int, is_heard: bool) -> None:
    old = made_forecast(days=4, mean_c=24.0, issued_at=NOW - timedelta(hours=age_h))
    assert (nights_beside(old) != nights_beside()) is is_heard
