"""Steps by their names and by their past forms."""

from __future__ import annotations

import pytest

from scheduler.errors import BadSetting
from scheduler.faces.step_words import past_forms, step_meant
from scheduler.household.process_file import shipped_processes

PROCESSES = shipped_processes()
FISH = next(process for process in PROCESSES if process.name == "dry-salted-fish")


@pytest.mark.parametrize("process", PROCESSES, ids=lambda process: process.name)
def test_every_step_is_known_by_its_name(process):
    assert [step_meant(process, step.name) for step in process.steps] == list(process.steps)


@pytest.mark.parametrize("process", PROCESSES, ids=lambda process: process.name)
def test_no_two_steps_share_a_past_form(process):
    forms = [form for step in process.steps for form in past_forms(step.name)]
    assert len(forms) == len(set(forms))


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("salted", "salt"), ("rinsed", "rinse"), ("lit", "light"), ("Lifted", "lift"), ("loaded", "load"),
        ("soaked", "soak"), ("spread", "spread"), ("stored", "store"), ("sliced", "slice"), ("frozen", "freeze"),
        ("first check", "first_check"), ("last-check", "last_check"), ("burnt out", "burn_out"), ("out", "burn_out"),
    ],
)  # fmt: skip
def test_a_past_form_means_its_step(said, name):
    assert step_meant(FISH, said).name == name


def test_wrapped_and_laid_out_are_steps_of_cheese_and_salt():
    by_name = {process.name: process for process in PROCESSES}
    assert step_meant(by_name["hard-cheese"], "wrapped").name == "wrap"
    assert step_meant(by_name["hard-cheese"], "tasted").name == "taste"
    assert step_meant(by_name["flake-salt"], "laid out").name == "lay_out"
    assert step_meant(by_name["flake-salt"], "jarred").name == "jar"


def test_thawed_may_be_the_beginning_or_the_end():
    with pytest.raises(BadSetting, match="smokenight did thaw --at TIME"):
        step_meant(FISH, "thawed")
