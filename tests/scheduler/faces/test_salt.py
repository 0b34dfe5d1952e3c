"""`smokenight salt`: what to weigh out, and what the real weight tells, at the command line."""

from __future__ import annotations

import json
import re
import unicodedata

import pytest
from typer.testing import CliRunner

from scheduler.errors import SchedulerError
from scheduler.faces.commands import app
from scheduler.faces.wording import NO_SOURCE
from scheduler.science.hazards import DEFERS, NO_NITRITE

OWN_CURE = """\
name = "mine"
title = "An invented cure"
foods = ["salmon", "arctic char"]
[cure]
salt = "5 %"
sugar = "2.5 %"
loss = "{loss}"
{more}
[[step]]
name = "{salting}"
title = "Salt"
hands_on = "45 min"
leads_to = "light"
wait = {{ least = "44 h", usual = "24 h 1 min", longest = "60 h" }}
[[step]]
name = "light"
title = "Light"
hands_on = "10 min"
[[step]]
name = "lift"
title = "Lift"
hands_on = "20 min"
comes_from = "light"
""".replace("44 h", "12 h")


def run(*words: str, columns: int = 80) -> str:
    done = CliRunner().invoke(app, ["salt", *words], env={"COLUMNS": str(columns)}, catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.stdout


def told(*words: str) -> str:
    """The words of the answer, wherever its lines break."""
    return " ".join(run(*words).split())


def values(*words: str) -> dict[str, object]:
    found: dict[str, object] = json.loads(run(*words, "--json"))
    return found


def refused(*words: str) -> str:
    """The one line of a refusal."""
    done = CliRunner().invoke(app, ["salt", *words])
    assert isinstance(done.exception, SchedulerError), done.output
    assert len(str(done.exception).splitlines()) == 1
    return str(done.exception)


def own(tmp_path, *, loss: str = "10 %", more: str = "", salting: str = "salt") -> str:
    path = tmp_path / "mine.toml"
    path.write_text(OWN_CURE.format(loss=loss, more=more, salting=salting), encoding="utf-8")
    return str(path)


def test_a_kilogram_takes_twelve_per_cent_of_each_and_loses_as_much():
    text = told("1000g")
    assert text.startswith("For 1 kg of salmon: 120 g of salt and 120 g of sugar.")
    assert f"salt 120 g (12 % of 1 kg, {NO_SOURCE}) sugar 120 g (12 % of 1 kg, {NO_SOURCE})" in text
    assert f"expect 880 g after the cure (12 % less, {NO_SOURCE})" in text
    assert "16 to 18 % less (Torry Research Station, Smoked salmon, FAO x5886e, read second hand)" in text


def test_pounds_are_answered_in_ounces():
    text = told("2.2 lb")
    assert "4.2 oz of salt" in text
    assert "expect 1 lb 15 oz" in text
    assert values("2.2 lb")["salt_g"] == pytest.approx(2.2 * 453.59237 * 0.12, abs=0.05)


def test_other_shares_are_asked_for():
    found = values("1 kg", "--salt", "10%", "--sugar", "5 %")
    assert (found["salt_g"], found["sugar_g"], found["expected_g"]) == (100.0, 50.0, 880.0)


def test_no_sugar_is_a_share():
    assert values("1 kg", "--sugar", "0 %")["sugar_g"] == 0.0


# Salt to retain per kg for 3.5 % in the water phase, USDA SR28 moisture: worked out in another program.
@pytest.mark.parametrize(
    ("food", "after", "salt_g"),
    [
        ("farmed Atlantic salmon", "920 g", 19.91),
        ("farmed Atlantic salmon", "880 g", 18.51),
        ("farmed Atlantic salmon", "830 g", 16.76),
        ("wild Atlantic salmon", "920 g", 21.18),
        ("wild Atlantic salmon", "880 g", 19.78),
        ("wild Atlantic salmon", "830 g", 18.03),
        ("chinook salmon", "880 g", 20.87),
    ],
)
def test_salt_that_must_stay_follows_the_balance(food, after, salt_g):
    assert values("1 kg", "--food", food, "--after", after)["retain_g"] == pytest.approx(salt_g, abs=0.006)


def test_the_real_weight_tells_the_loss_and_what_must_have_stayed():
    text = told("1000g", "--after", "850 g")
    assert "after 850 g: 15 % less (150 g)" in text
    assert "retain 21 g of salt must have stayed in it for 3.5 % in its water phase at this weight" in text
    assert "water 75.52 % raw as pink salmon, USDA SR28: the wettest that salmon may be" in text


def test_a_fish_without_a_row_takes_the_wettest_and_says_so():
    assert "as pink salmon, USDA SR28: the wettest row, as there is none for trout" in told(
        "1 kg", "--food", "trout", "--after", "850 g"
    )


def test_nothing_must_have_stayed_where_nobody_weighed():
    found = values("1 kg")
    assert (found["after_g"], found["loss_pct"], found["retain_g"]) == (None, None, None)
    assert "rinsed and patted dry: with --after you get the salt that must have stayed in it" in told("1 kg")


def test_salt_in_the_water_phase_is_unknown_until_measured():
    assert "reached salt in its water phase: unknown until measured" in told("1 kg", "--after", "850 g")
    assert values("1 kg", "--after", "850 g")["wps_measured_pct"] is None
    assert values("1 kg", "--after", "850 g")["meets_wps_least"] is None


@pytest.mark.parametrize(("given", "verb"), [("3.8", "meets"), ("3.5", "meets"), ("3.49 %", "misses"), ("0", "misses")])
def test_a_measured_value_is_held_against_the_least(given, verb):
    assert f"as measured: it {verb} the 3.5 %" in told("1 kg", "--measured-wps", given)
    assert values("1 kg", "--measured-wps", given)["meets_wps_least"] is (verb == "meets")


def test_too_little_salt_is_told_before_it_is_weighed_out():
    assert "short 10 g of salt is less than the 22 g that must stay in it" in told("1 kg", "--salt", "1 %")
    assert "short" not in told("1 kg", "--salt", "3 %")


def test_a_thick_piece_is_warned_of_with_the_way_that_salt_has_come():
    text = told("1 kg", "--thickness", "30 mm")
    assert "thick 30 mm is thick: after 48 h" in text
    assert "cut pieces of 25 mm or less" in text
    # Crank's series at D t / L² = 0.00192 and 0.0192: 2 sqrt(Fo / pi) = 0.049 and 0.156.
    assert "after 48 h the salt has come 5 to 16 % of the way to its balance on average, and 0 % at the skin" in text


def test_an_inch_is_within_the_inch_and_still_told_how_far_salt_comes():
    text = told("1 kg", "--thickness", "1 in")
    assert "is within the inch that is advised" in text
    assert "of the way to its balance" in text
    assert values("1 kg", "--thickness", "25 mm")["thickness_warning"] is None
    assert "26 mm" in values("1 kg", "--thickness", "26 mm")["thickness_warning"]


def test_a_households_own_cure_is_used(tmp_path):
    path = own(tmp_path)
    found = values("1 kg", "--process", path, "--food", "Arctic  char")
    assert (found["food"], found["salt_g"], found["sugar_g"], found["expected_g"]) == ("arctic char", 50.0, 25.0, 900.0)
    assert "after 24 h 1 min" in told("1 kg", "--process", path, "--thickness", "20 mm")


def test_a_usual_loss_beyond_the_water_of_the_fish_still_weighs_out(tmp_path):
    assert values("1 kg", "--process", own(tmp_path, loss="90 %"))["expected_g"] == 100.0


def test_nitrite_is_refused_with_the_reason(tmp_path):
    assert NO_NITRITE in told("1 kg")
    told_why = refused("1 kg", "--process", own(tmp_path, more='nitrite = "0.01 %"'))
    assert re.search(r"\[cure\] nitrite: is refused: .*slip of a gram is dangerous.*21 CFR 172\.175", told_why)


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        (["1000"], "WEIGHT: '1000' lacks a unit"),
        (["2 cups"], "WEIGHT: '2 cups' has an unknown unit"),
        (["0 g"], "WEIGHT: '0 g' is nothing"),
        (["1 kg", "--after", "1.2 kg"], "--after: a fish of 1000 g before the cure cannot weigh 1200 g after it"),
        (["1 kg", "--after", "100 g"], "--after: a loss of 90.0 % is more than the fish has water (75.5 %)"),
        (["1 kg", "--after", "0 g"], "--after: '0 g' is nothing"),
        (["1 kg", "--salt", "10"], "--salt: '10' lacks a unit"),
        (["1 kg", "--sugar", "101 %"], "--sugar: '101 %' is more than the whole"),
        (["1 kg", "--measured-wps", "38"], "--measured-wps: '38' is more salt than water holds"),
        (["1 kg", "--measured-wps", "lots"], "--measured-wps: 'lots %' is not a share"),
        (["1 kg", "--thickness", "30"], "--thickness: '30' lacks a unit"),
        (["1 kg", "--thickness", "0 mm"], "--thickness: '0 mm' is nothing"),
        (["1 kg", "--food", "cheese"], "'hard-cheese' has no cure: there is nothing to weigh out for cheese"),
        (["1 kg", "--food", "mackerel"], "'mackerel' is refused"),
        (["1 kg", "--food", "samlon"], "did you mean 'salmon'?"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line_that_names_it(words, answer):
    assert answer in refused(*words)


def test_a_thickness_needs_hours_in_salt(tmp_path):
    path = own(tmp_path, salting="pickle")
    assert values("1 kg", "--process", path)["salt_g"] == 50.0
    assert "--thickness: the process 'mine' has no step 'salt'" in refused(
        "1 kg", "--process", path, "--thickness", "30 mm"
    )


@pytest.mark.parametrize("columns", [24, 40, 80])
def test_no_line_is_wider_than_the_page(columns):
    text = run("2.2 lb", "--after", "2 lb", "--thickness", "1.5 in", "--measured-wps", "3.8", columns=columns)
    widths = [sum(2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in line) for line in text.splitlines()]
    assert max(widths) <= columns
    assert " ".join(DEFERS.split()) in " ".join(text.split())


@pytest.mark.parametrize(
    "words", [["1 kg"], ["1 kg", "--after", "850 g", "--measured-wps", "9", "--thickness", "9 cm"]]
)
def test_nothing_is_called_safe(words):
    assert not re.search(r"\b(un)?safe(ly)?\b", run(*words), re.IGNORECASE)
