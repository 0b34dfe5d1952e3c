"""The page in a real headless Chromium: read by everybody, on every screen and on paper, without a script."""

from __future__ import annotations

import json
import shutil
import subprocess
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from asked import FROZEN, NOW, SITE, answer, ask, made_forecast
from clients.conftest import found
from web_server import serving

from scheduler import service
from scheduler.faces.asking import SAMPLE_BATCH, SAMPLE_SITE
from scheduler.faces.keeping import Told
from scheduler.faces.web.page import Links, content_policy, render
from scheduler.faces.web.shelf import Body, Shelf
from scheduler.household.batch import Batch
from scheduler.household.process_file import shipped_process

LOOKER = Path(__file__).with_name("browser.mjs")
LONG = "<script>alert(1)</script> \u202eturned " + "Ü" * 200
LEAST_PT = 6.5
MOST_TABBED = 70


def usual() -> list[Told]:
    from providers.sample import sample_forecast

    forecast = sample_forecast(NOW, zone=SAMPLE_SITE.zone, latitude_deg=45.0, longitude_deg=-70.0)
    asked = service.Question(SAMPLE_SITE, shipped_process("salmon"), SAMPLE_BATCH, forecast, NOW)
    return [Told(service.plan(asked), ("Moved from Thu 22 Oct to Fri 23 Oct: Thursday now reaches 16.8 °C.",))]


def two_with_long_names() -> list[Told]:
    cheese = Batch(name=LONG, food="cheese", state="ready")
    asked = service.Question(
        replace(SITE, name=LONG, units="us"), shipped_process("cheese"), cheese, made_forecast(mean_c=6.0), NOW
    )
    return [Told(ask(site=replace(SITE, name=LONG), batch=replace(FROZEN, name=LONG))),
            Told(service.plan(asked), (LONG,))]  # fmt: skip


PAGES = {
    "usual": usual,
    "two batches with long names": two_with_long_names,
    "no night": lambda: [Told(answer("too warm"))],
    "old weather": lambda: [Told(answer("too old"))],
}


@pytest.fixture(scope="module")
def chromium() -> str:
    return found(shutil.which("chromium") or shutil.which("chromium-browser"), "Chromium")


@pytest.fixture(scope="module", params=PAGES)
def seen(request, node, tools, chromium, tmp_path_factory) -> dict:
    """What the browser finds on one page."""
    for name in ("playwright-core", "axe-core"):
        found(tools / "node_modules" / name, name)
    links = Links("https://cook.example/s/secret/smoke.ics", "webcal://cook.example/s/secret/smoke.ics")
    policy = (b"content-security-policy", content_policy().encode())
    page = Body(render(PAGES[request.param](), links), "text/html; charset=utf-8", datetime.now(UTC), policy)
    shelf = Shelf()
    shelf.place("secret", {"": page})
    with serving(shelf) as port:
        address = f"http://127.0.0.1:{port}/s/secret/"
        command = [node, str(LOOKER), str(tools), chromium, str(tmp_path_factory.mktemp("profile")), address]
        done = subprocess.run(command, capture_output=True, timeout=240, check=False)
    assert done.returncode == 0, done.stderr.decode()
    return {"page": request.param, **json.loads(done.stdout)}


def test_it_loads_and_the_browser_has_nothing_to_say(seen):
    assert {one["name"]: (one["status"], one["said"]) for one in seen["variants"]} == {
        one["name"]: (200, []) for one in seen["variants"]
    }
    assert len(seen["variants"]) == 5


def test_the_accessibility_checker_finds_nothing(seen):
    assert [(one["name"], one["violations"]) for one in seen["variants"] if one["violations"]] == []
    assert all(one["rulesPassed"] > 30 for one in seen["variants"])


def test_nothing_sticks_out_of_the_narrowest_screen(seen):
    assert {one["name"]: one["sticksOut"] for one in seen["variants"] if one["sticksOut"] > 0} == {}


def test_every_link_is_large_enough_to_hit(seen):
    assert {one["name"]: one["smallTargets"] for one in seen["variants"] if one["smallTargets"]} == {}


def test_the_keyboard_reaches_links_and_pictures_and_shows_where_it_is(seen):
    for one in seen["variants"]:
        assert 3 < len(one["focused"]) < MOST_TABBED
        assert [place for place in one["focused"] if place["outline"] < 2] == []


def test_it_is_the_same_without_scripts(seen):
    assert seen["sameWithoutScripts"]


def test_letters_on_paper_can_be_read(seen):
    points, words = seen["print"]["smallest"]
    assert points >= LEAST_PT, words


def test_the_usual_plan_prints_on_one_sheet_with_everything_on_it(seen):
    if seen["page"] != "usual":
        assert seen["print"]["pages"].keys() == {"A4", "Letter"}
        return
    assert seen["print"]["pages"] == {"A4": 1, "Letter": 1}
    text = " ".join(seen["print"]["text"].split())
    plan = usual()[0].answer.choice.plan
    assert all(one.step.title in text for one in plan.steps)
    for words in ("leeway: Fri 18:06–21:25", "No lighter fluid: light it with", "156 g (12 % of 1.3 kg", "225 g dry",
                  "food, smoke: 12 h from 10.0 °C", "Appendix 4, March 2020"):  # fmt: skip
        assert words in text
