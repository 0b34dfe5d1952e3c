"""Process files that are right, and the process that ships with the package."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.errors import BadBatch, BadProcess
from scheduler.household.process import ANCHOR, LIFT, Cure, Process, Step, Wait
from scheduler.household.process_file import load_process, process_from, shipped_process, shipped_processes

WHOLE = """\
name = "invented-cure"
title = "An invented cure"
foods = ["Salmon", "arctic  char"]
cautions = ["parasites"]

[cure]
salt = "5 %"
sugar = "2.5 %"
loss = "10 %"

[[step]]
name = "thaw"
title = "Thaw in the fridge"
hands_on = "7 min"
leads_to = "light"
wait = { least = "1 d", usual = "30 h", longest = "48 h", clock = true, per_started = "5 lb" }
during = "thawing"
after = "thawed"
skip_if = ["fresh"]
note = \"\"\"Open the pack,
  then lay it in a dish.\"\"\"
cautions = ["open_packs"]

[[step]]
name = "dry"
title = "Dry the sawdust"
hands_on = "1 h 30 min"
leads_to = "light"
wait = { least = "0 h", usual = "0 h", longest = "30 d", weather = "drying" }
branch = "sawdust"

[[step]]
name = "light"
title = "Light the tray"
hands_on = "10 min"

[[step]]
name = "look"
title = "Look once more"
hands_on = "5 min"
comes_from = "light"
wait = { least = "50 min", usual = "3 h", longest = "8 h" }
prefer = "evening_end"

[[step]]
name = "lift"
title = "Lift the food out"
hands_on = "20 min"
comes_from = "light"

[[step]]
name = "eat_by"
title = "Eat by now"
hands_on = "0 min"
comes_from = "lift"
household = false
"""


def test_every_key_is_read_into_its_field():
    assert process_from(WHOLE.encode(), "mine.toml") == Process(
        name="invented-cure",
        title="An invented cure",
        foods=("salmon", "arctic char"),
        cure=Cure(5.0, 2.5, 10.0),
        cautions=("parasites",),
        steps=(
            Step(
                name="thaw",
                title="Thaw in the fridge",
                hands_on_min=7.0,
                neighbour="light",
                before=True,
                wait=Wait(24.0, 30.0, 48.0, "clock", 5 * 453.59237),
                during="thawing",
                after="thawed",
                skip_if=("fresh",),
                note="Open the pack, then lay it in a dish.",
                cautions=("open_packs",),
            ),
            Step("dry", "Dry the sawdust", 90.0, "light", True, Wait(0, 0, 720, weather="drying"), branch="sawdust"),
            Step("light", "Light the tray", 10.0, None, False, None),
            Step("look", "Look once more", 5.0, "light", False, Wait(50 / 60, 3.0, 8.0), prefer="evening_end"),
            Step("lift", "Lift the food out", 20.0, "light", False, None),
            Step("eat_by", "Eat by now", 0.0, "lift", False, None, household=False),
        ),
    )


def test_a_process_without_a_cure_has_none():
    before, _, after = WHOLE.partition("[cure]")
    text = before + after[after.index("[[step]]") :]
    assert process_from(text.encode(), "mine.toml").cure is None


@given(st.integers(0, 16 * 60))
def test_hands_on_minutes_stay_whole(minutes):
    text = WHOLE.replace('"7 min"', f'"{minutes} min"')
    assert process_from(text.encode(), "mine.toml").steps[0].hands_on_min == minutes


def test_a_households_own_file_is_read_from_its_path(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(WHOLE, encoding="utf-8")
    assert load_process(path) == process_from(WHOLE.encode(), "mine.toml")


def test_caution_keys_are_held_against_those_that_are_known(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(WHOLE, encoding="utf-8")
    assert load_process(path, frozenset({"parasites", "open_packs"})) == load_process(path)
    with pytest.raises(BadProcess, match=r"step thaw cautions: 'open_packs' .* did you mean 'open_vacuum_packs'\?"):
        load_process(path, frozenset({"parasites", "open_vacuum_packs"}))
    with pytest.raises(BadProcess, match=r"mine\.toml: cautions: 'parasites' .* known are: open_packs"):
        load_process(path, frozenset({"open_packs"}))


@pytest.mark.parametrize("food", ["salmon", "trout", "Salmon", " trout "])
def test_salmon_and_trout_have_a_shipped_process(food):
    assert food.strip().lower() in shipped_process(food).foods


def test_shipped_processes_have_the_steps_that_everything_hangs_from():
    shipped = shipped_processes()
    assert shipped
    for process in shipped:
        assert process.step(ANCHOR).neighbour is None
        assert process.step(LIFT).neighbour == ANCHOR


def test_shipped_foods_stand_in_one_process_each():
    foods = [food for process in shipped_processes() for food in process.foods]
    assert len(foods) == len(set(foods))


def test_an_unknown_food_is_answered_with_the_known_ones():
    with pytest.raises(BadBatch, match=r"no process for 'carp'; known are: .*salmon.*trout"):
        shipped_process("carp")
    with pytest.raises(BadBatch, match=r"no process for 'samlon'; did you mean 'salmon'\?"):
        shipped_process("samlon")


@pytest.mark.parametrize("food", ["", "two\nlines"])
def test_a_food_that_is_no_word_is_refused_in_one_line(food):
    with pytest.raises(ValueError, match="one line of text") as caught:
        shipped_process(food)
    assert len(str(caught.value).splitlines()) == 1


# Fish named as forming scombrotoxin: see the sources in scheduler/household/foods.py.
@pytest.mark.parametrize(
    "food",
    [
        "tuna",
        "mackerel",
        "Mackerels",
        "herring",
        "sardines",
        "bonito",
        "mahi-mahi",
        "mahi mahi",
        "anchovies",
        "bluefish",
        "king mackerel",
        "smoked herring",
        "skipjack",
    ],
)
def test_fish_that_form_histamine_are_refused_with_the_reason(food, tmp_path):
    with pytest.raises(BadBatch, match="histamine") as caught:
        shipped_process(food)
    assert repr(food) in str(caught.value)
    path = tmp_path / "mine.toml"
    path.write_text(WHOLE.replace("Salmon", food), encoding="utf-8")
    with pytest.raises(BadProcess, match=r"mine\.toml: foods: .*histamine"):
        load_process(path)


@pytest.mark.parametrize("food", ["trout", "char", "haddock", "cod", "marlinspike", "jackdaw"])
def test_other_fish_are_not_taken_for_them(food):
    assert process_from(WHOLE.replace("Salmon", food).encode(), "mine.toml").foods[0] == food
