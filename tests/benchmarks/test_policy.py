"""Whole seasons of real weather, forecast as badly as measured: this tool's policy against plain ones and an oracle.

What the tables say, and what limits it, stands in the contributor's guide.  The aims were 97 % of smokes lit under the
ceiling, 85 % of the oracle's smokes made, and a third of the moves of who decides anew at every run; what is asserted
is what holds in the measured weather, with room for a forecast's luck.
"""

from __future__ import annotations

import pytest
from policy_seasons import ORACLE, SHOULDERS, Share, Tally
from policy_study import FORECASTS, HOUSEHOLDS, LEVERS, MAIN, Setting, merged, table

pytestmark = pytest.mark.benchmark

FIRST, ANEW, OURS = "first night, never moved", "the same, anew at every run", "this tool, proposals taken"
FAR_APART_DAYS = 24.0

Found = dict[str, Tally]


def tell(line: str) -> None:
    print(f"\n{line}")  # noqa: T201 - this is what a benchmark is for


def test_smokes_lit_stay_under_more_often_and_plans_move_less() -> None:
    worlds = [MAIN.play(place, seed=22) for place in MAIN.places]
    found = merged(worlds)
    tell(table(MAIN.name, found))
    tell(table("of these, opened in spring and autumn", merged(worlds, SHOULDERS)))
    ours, first, anew, oracle = (found[name] for name in (OURS, FIRST, ANEW, ORACLE))
    made = Share(len(ours.lit), len(oracle.lit))
    tell(f"of the oracle's smokes {made} made; moves {ours.moves / max(anew.moves, 1):.2f} of deciding anew")
    assert oracle.under.value == 1.0
    assert made.value >= 0.80
    assert ours.under.value >= 0.88
    assert ours.under.value >= first.under.value + 0.08
    assert ours.moves < anew.moves
    assert ours.moves_salted <= anew.moves_salted


@pytest.mark.parametrize("settings", [HOUSEHOLDS, FORECASTS], ids=["other households", "other errors"])
def test_it_holds_for_other_households_and_other_errors(settings: tuple[Setting, ...]) -> None:
    every = [played(setting, number) for number, setting in enumerate(settings)]
    ours, first, anew, oracle = (pooled(every, name) for name in (OURS, FIRST, ANEW, ORACLE))
    tell(f"all together: this tool {ours}, first night {first}, anew at every run {anew}")
    assert ours.value >= first.value
    assert ours.of >= 0.7 * oracle.of
    assert sum(found[OURS].moves for found in every) < sum(found[ANEW].moves for found in every)


@pytest.mark.parametrize("setting", LEVERS, ids=lambda setting: setting.name)
def test_a_household_may_ask_more_of_a_night(setting: Setting) -> None:
    found = played(setting, 2)
    assert found[OURS].under.value >= 0.80
    assert len(found[OURS].lit) >= 0.6 * len(found[ORACLE].lit)


def played(setting: Setting, number: int) -> Found:
    """One household's year at one of the places, told as it comes."""
    found = setting.play(setting.places[number % len(setting.places)], seed=number, apart_days=FAR_APART_DAYS)
    tell(table(setting.name, found))
    return found


def pooled(every: list[Found], name: str) -> Share:
    """Smokes that stayed under, each with the ceiling of its own household."""
    shares = [found[name].under for found in every]
    return Share(sum(share.count for share in shares), sum(share.of for share in shares))
