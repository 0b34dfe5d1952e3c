"""One batch from its opening to its end, two batches with one chamber, and what the commands of the journal refuse."""

from __future__ import annotations

import json
from datetime import date, timedelta

import pytest
from command import Shell, put_hours

OPEN = ("batch", "new", "--weight", "1.3 kg", "--food", "salmon", "--frozen", "2026-09-20", "--at", "-20 C")


@pytest.fixture
def own(tmp_path):
    """The invented site with a journal of its own: `own(moment, *command)`."""
    shell = Shell(tmp_path)

    def run(now, *args):
        return shell.run(*args, "--sample", "--journal", tmp_path / "j.sqlite", "--now", f"2026-10-{now}")

    run.home = tmp_path
    return run


def says(done, code=0):
    assert done.code == code, (done.out, done.err)
    assert "Traceback" not in done.err
    return " ".join((done.out + done.err).split())


@pytest.fixture
def opened(own):
    says(own("17T14:00", *OPEN, "--measured"))
    return own


# --- the story


def test_a_batch_is_followed_from_its_opening_to_its_end(opened):
    assert "Fri 23 Oct" in says(opened("17T14:00", "plan"))
    assert "unchanged" in says(opened("19T08:00", "replan"))
    assert "Next: Salt and sugar, Wed 21 Oct 12:10" in says(opened("20T12:10", "did", "thaw"))
    assert "1.28 kg" in says(opened("21T13:00", "did", "salted", "--at", "2026-10-21T12:10", "--weight", "1.28 kg"))
    says(opened("23T13:00", "did", "rinsed", "--weight", "1.13 kg"))
    assert "unchanged" in says(opened("23T14:00", "replan"))
    says(opened("23T21:25", "did", "lit", "--sawdust", "225 g"))
    says(opened("23T21:40", "did", "loaded"))
    says(opened("23T22:25", "reading", "-1.5", "C", "--where", "porch"))
    says(opened("23T22:25", "reading", "13.5 C", "--where", "chamber"))
    says(opened("24T09:30", "did", "lifted"))
    says(opened("24T21:30", "did", "sliced", "--note", "a fine colour"))
    says(opened("28T21:30", "did", "ash", "--left", "20 g"))
    assert "eaten" in says(opened("28T21:31", "batch", "end", "--how", "eaten", "--note", "came out well"))
    assert "No batch is open" in says(opened("28T21:32", "batch"))
    told = says(opened("28T21:32", "history"))
    words = ("plan: light Fri 23 Oct 21:25", "12:10 Salt and sugar, 1.28 kg", "225 g of dry sawdust", "“a fine colour”",
             "20 g of sawdust left", "ended: eaten, “came out well”", "chamber 13.5 °C", "porch -1.5 °C")  # fmt: skip
    assert [text for text in words if text not in told] == []


def test_the_tray_lit_again_is_a_replan(opened):
    says(opened("17T14:00", "plan"))
    for moment, step in (("20T12:00", "thaw"), ("21T12:10", "salt"), ("23T12:55", "rinse"), ("23T21:25", "light")):
        says(opened(moment, "did", step))
    says(opened("23T22:30", "did", "relit"))
    told = says(opened("23T22:31", "replan"), code=10)
    assert "The tray was lit again Fri 23 Oct 22:30" in told
    assert "lift moves from Sat 24 Oct 09:25 to Sat 24 Oct 10:30" in told
    assert "unchanged" in says(opened("23T22:40", "replan"))


def test_a_next_step_whose_planned_time_is_past_is_only_what_the_plan_had(opened):
    says(opened("17T14:00", "plan"))
    for moment, step in (("20T12:00", "thaw"), ("21T12:10", "salt"), ("23T12:55", "rinse")):
        says(opened(moment, "did", step))
    told = says(opened("23T22:05", "did", "lit"))
    assert "Next: Load the chamber; the plan had it Fri 23 Oct 21:35." in told
    assert "Load the chamber, Fri 23 Oct 21:35" in says(opened("23T21:30", "batch"))
    assert "Load the chamber; the plan had it Fri 23 Oct 21:35" in says(opened("23T22:06", "batch"))


def test_the_days_to_eat_it_in_count_from_the_lift_as_it_was(opened):
    says(opened("17T14:00", "plan"))
    for moment, step in (("23T21:25", "lit"), ("24T08:25", "lifted"), ("24T21:45", "sliced")):
        says(opened(moment, "did", step))
    assert "Next: Eat by now, or have it frozen, Thu 29 Oct 08:25" in says(opened("28T21:25", "did", "ash"))
    assert "Eat by now, or have it frozen, Thu 29 Oct 08:25" in says(opened("28T21:30", "batch"))


def test_warmer_weather_moves_the_plan_in_its_own_words(opened):
    says(opened("17T14:00", "plan", "--weather", put_hours(opened.home / "cool.csv", 8.0, days=9)))
    warm = put_hours(opened.home / "warm.csv", 8.0, days=9, head="# issued: 2026-10-17T21:00Z\n")
    given = json.loads(opened("17T14:01", "replan", "--json", "--weather", opened.home / "cool.csv").out)
    morning = date.fromisoformat(given["batches"][0]["plan"]["night"]["date"]) + timedelta(days=1)
    lines = warm.read_text("utf-8").splitlines()
    hot = [f"{line[:18]}22.0" if line.startswith(str(morning)) and line[11:13] < "12" else line for line in lines]
    warm.write_text("\n".join(hot) + "\n", "utf-8")
    told = says(opened("17T18:00", "replan", "--weather", warm), code=10)
    assert "now reaches 22.0 °C" in told
    assert "ago it was" in told
    assert "plan moved from" in says(opened("17T18:05", "history"))


def test_no_night_left_is_said_with_exit_code_1(opened):
    says(opened("17T14:00", "plan"))
    for moment, step in (("20T12:00", "thaw"), ("21T12:10", "salt")):
        says(opened(moment, "did", step))
    warm = put_hours(opened.home / "warm.csv", 25.0, days=14)
    done = opened("21T13:00", "replan", "--weather", warm)
    assert "no night is left" in says(done, code=1)
    assert "Ways out" in done.out
    given = opened("21T13:01", "replan", "--weather", warm, "--json")
    found = json.loads(given.out)["batches"][0]
    assert (given.code, found["change"], found["plan"]) == (1, "lost", None)
    assert [way["way"] for way in found["ways_out"]][-1] == "cook"
    assert "is dropped" in says(opened("21T13:02", "replan", "--weather", warm, "--take"), code=1)
    assert "plan dropped" in says(opened("21T13:03", "history"))
    assert "`smokenight plan` adopts one" in says(opened("21T13:04", "replan"))


def test_two_batches_never_keep_the_same_night_in_a_chamber_for_one(opened):
    says(opened("17T15:00", "batch", "new", "--food", "trout", "--frozen", "2026-09-20", "--at", "-20 C"))
    assert "say which" in says(opened("17T15:00", "plan"), code=2)
    for name in ("salmon 1", "trout 1"):
        says(opened("17T15:00", "plan", "--batch", name))
    assert "another batch has the chamber" in says(opened("17T15:01", "replan"), code=10).lower()
    given = json.loads(opened("17T15:02", "replan", "--json").out)["batches"]
    assert len({one["plan"]["night"]["date"] for one in given}) == 2
    assert {one["change"] for one in given} == {"unchanged"}


def test_an_overdue_step_is_asked_about_with_the_answer_to_copy(opened):
    says(opened("17T14:00", "plan"))
    told = says(opened("20T15:00", "replan"))
    assert "Was “Start thawing in the fridge” done? It was due Tue 20 Oct 12:00." in told
    assert "smokenight did thaw --at 2026-10-20T12:00" in told


# --- undo


def test_undo_takes_back_the_last_and_redo_gives_it_back(opened):
    says(opened("20T12:10", "did", "thaw"))
    assert "Taken back: Start thawing" in says(opened("20T12:11", "undo"))
    assert "Start thawing" not in says(opened("20T12:12", "history"))
    assert "It stands again: Start thawing" in says(opened("20T12:12", "undo", "--redo"))
    assert "Start thawing" in says(opened("20T12:13", "history"))
    assert "no undo to take back" in says(opened("20T12:14", "undo", "--redo"), code=2)
    says(opened("20T12:15", "undo"))
    assert "opened" in says(opened("20T12:15", "undo"))
    assert "nothing to take back" in says(opened("20T12:16", "undo"), code=2)


def test_a_step_recorded_again_with_an_earlier_time_takes_the_place_of_the_first(opened):
    says(opened("20T15:00", "did", "thaw"))
    assert "takes the place" in says(opened("20T15:01", "did", "thaw", "--at", "2026-10-20T12:00"))
    told = says(opened("20T15:02", "history"))
    assert "12:00 Start thawing" in told
    assert "15:00 Start thawing" not in told


# --- what is refused


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("did", "thawed"), "or that it is through"),
        (("did", "slcied"), "did you mean 'sliced'?"),
        (("did", "checked"), "'first_check' and 'last_check'"),
        (("did", "eaten"), "batch end --how eaten"),
        (("did", "relit"), "record first that it was lit"),
        (("did", "thaw", "--at", "2026-10-25T12:00"), "is still ahead"),
        (("did", "thaw", "--at", "2026-10-01T12:00"), "is before 'salmon 1' was opened"),
        (("did", "thaw", "--at", "2026-10-19"), "has no time of day"),
        (("did", "thaw", "--left", "20 g"), "--left goes with the end"),
        (("did", "soak", "--weight", "1 kg"), "is that of the food"),
        (("did", "thaw", "--batch", "samlon 1"), "did you mean 'salmon 1'?"),
        (("did", "thaw", "--weight", "1.3"), "lacks a unit"),
        (("reading", "13.5 C"), "say where it was read"),
        (("reading", "13.5", "--where", "porch"), "may be °F or °C"),
        (("reading", "13.5C", "--where", "garage"), "is no place of a thermometer"),
        (("reading", "--where", "porch"), "say one temperature"),
        (("reading", "--whree", "porch"), "no such option"),
        (("note", " "), "it says nothing"),
        (("batch", "end", "--how", "eatn"), "did you mean 'eaten'?"),
        (("batch", "new", "--name", "Salmon 1"), "is open already"),
        (("batch", "new", "--frozen", "2026-10-30"), "is still ahead"),
        (("batch", "new", "--measured"), "add --at"),
        (("batch", "new", "--at", "20 C"), "--at:"),
        (("plan", "--night", "soon"), "is no day"),
        (("plan", "--night", "2026-12-24"), "the forecast says nothing of Thu 24 Dec"),
        (("replan", "--batch", "salmon 1"), "`smokenight plan` adopts one"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(opened, args, words):
    done = opened("20T12:00", *args)
    assert words in says(done, code=2)
    assert done.out == ""
    assert len(done.err.splitlines()) == 1


def test_a_step_cannot_come_before_the_one_that_leads_to_it(opened):
    says(opened("21T12:00", "did", "salt"))
    told = says(opened("22T12:00", "did", "rinse", "--at", "2026-10-21T10:00"), code=2)
    assert "is before “Salt and sugar”" in told


def test_a_weight_that_looks_like_a_slip_is_recorded_and_asked_about(opened):
    says(opened("21T12:00", "did", "salt", "--weight", "1.28 kg"))
    assert "Is the weight right?" in says(opened("23T12:00", "did", "rinse", "--weight", "1.5 kg"))
    assert "1.5 kg" in says(opened("23T12:01", "history"))


# --- the invented site, and the household's own journal


def test_the_invented_site_keeps_nothing_and_reads_no_journal_of_the_households(tmp_path):
    shell = Shell(tmp_path)
    now = ("--sample", "--now", "2026-10-20T12:00")
    assert "nothing was kept" in says(shell.run("did", "thaw", *now))
    assert "sample batch" in says(shell.run("batch", *now))
    assert "Start thawing" not in says(shell.run("history", *now))
    assert not list(tmp_path.rglob("*.sqlite"))


def test_a_journal_that_was_named_and_is_not_there_is_not_read_as_empty(tmp_path):
    told = says(Shell(tmp_path).run("history", "--sample", "--journal", tmp_path / "none.sqlite"), code=2)
    assert "there is no journal" in told


def test_next_answers_for_the_only_open_batch_and_for_what_was_said(opened):
    assert "salmon 1, from the journal: 1.3 kg" in says(opened("17T14:00", "next"))
    assert "from the journal" not in says(opened("17T14:00", "next", "--weight", "2 kg"))
    assert "there is no batch 'x'" in says(opened("17T14:00", "next", "--batch", "x"), code=2)


def test_next_tells_of_the_plan_that_stands_and_that_its_own_night_is_another(opened):
    assert "adopted" not in says(opened("17T14:00", "next"))
    says(opened("17T14:00", "plan"))
    told = says(opened("17T14:01", "next"))
    assert "adopted light Fri 23 Oct 21:25, lift Sat 24 Oct 09:25 site" in told
    says(opened("17T14:02", "plan", "--night", "2026-10-24"))
    told = says(opened("17T14:03", "next"))
    assert "adopted light Sat 24 Oct" in told
    assert "That plan stands; the night below is another one: `smokenight replan` tells whether it moves." in told


# --- out and in


def test_the_journal_goes_out_and_in_again(opened):
    says(opened("20T12:10", "did", "thaw"))
    shell, out, other = Shell(opened.home), opened.home / "x.jsonl", opened.home / "other.sqlite"
    assert "2 records" in says(shell.run("journal", "export", out, "--journal", opened.home / "j.sqlite"))
    assert "2 records taken in" in says(shell.run("journal", "import", out, "--journal", other))
    assert "0 records taken in, 2 already there" in says(shell.run("journal", "import", out, "--journal", other))
    assert shell.process("journal", "export", "-", "--journal", other).out == out.read_text("utf-8")


# --- probe logs


def log(own, text):
    path = own.home / "probe.csv"
    path.write_text(text, "utf-8")
    return path


@pytest.mark.parametrize(
    "text",
    [
        "time,air_c\n2026-10-23T21:30,10\n2026-10-23T22:30,12\n2026-10-23T23:30,\n",
        "Time;Temperature (°F)\n2026-10-23 21:30:00;50\n2026-10-23 22:30:00;53.6\n",
        "# a probe\nTimestamp,Humidity,temp\n2026-10-23T21:30-04:00,80,10 C\n2026-10-23T22:30-04:00,80,53.6 F\n",
    ],
)
def test_a_probes_log_is_read_in_the_ways_that_probes_write(opened, text):
    args = ("reading", "--from", log(opened, text), "--where", "chamber")
    assert "chamber 10.0 °C to 12.0 °C (2 readings) in probe.csv" in says(opened("24T10:00", *args))
    assert "In the journal already" in says(opened("24T10:01", *args))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is empty"),
        ("time,air_c\n", "holds a header and no readings"),
        ("when,air_c\n2026-10-23T21:30,10\n", "no column is called time"),
        ("time,rain\n2026-10-23T21:30,10\n", "no column is a temperature"),
        ("time,air_c,probe_c\n2026-10-23T21:30,10,11\n", "are all a temperature"),
        ("time,temp\n2026-10-23T21:30,10\n", "line 2: '10' may be °C or °F"),
        ("time,air_c\n2026-10-23T21:30,warm\n", "line 2: 'warm C' is not a temperature"),
        ("time,air_c\n2026-10-23T21:30,510\n", "line 2: '510' is not from -60 °C to 150 °C"),
        ("time,air_c\nyesterday,10\n", "line 2: time: 'yesterday' is no time"),
        ("time,air_c\n2026-11-23T21:30,10\n", "line 2: '2026-11-23T21:30' is still ahead"),
        ("time,air_c\n2026-10-23T21:30\n", "line 2: has 1 cells"),
    ],
)
def test_a_log_that_cannot_be_read_is_refused_with_its_line(opened, text, words):
    done = opened("24T10:00", "reading", "--from", log(opened, text), "--where", "porch")
    assert words in says(done, code=2)
    assert "probe.csv" in done.err


# --- what is only proposed


def warmed(path, night, c, issued):
    """A table whose only warm night is that one, made at that moment."""
    put_hours(path, 8.0, days=12, head=f"# issued: {issued}\n")
    morning = str(date.fromisoformat(night) + timedelta(days=1))
    lines = path.read_text("utf-8").splitlines()
    warm = [f"{line[:18]}{c}" if line.startswith(morning) and line[11:13] < "13" else line for line in lines]
    path.write_text("\n".join(warm) + "\n", "utf-8")
    return path


def test_a_better_night_is_only_proposed_for_a_plan_that_stands_until_somebody_takes_it(opened):
    first = put_hours(opened.home / "a.csv", 8.0, days=12, head="# issued: 2026-10-17T12:00Z\n")
    says(opened("17T14:00", "plan", "--night", "2026-10-22", "--committed", "--weather", first))
    second = warmed(opened.home / "b.csv", "2026-10-22", 14.2, "2026-10-18T12:00Z")
    assert "unchanged" in says(opened("18T08:30", "replan", "--weather", second))
    third = warmed(opened.home / "c.csv", "2026-10-22", 14.2, "2026-10-18T19:00Z")
    told = says(opened("18T15:30", "replan", "--weather", third), code=10)
    assert "stays on Thu 22 Oct, but" in told
    assert "`smokenight replan --take` moves it there" in told
    assert "night: Thu 22 Oct" in says(opened("18T15:31", "history"))
    assert "Taken: salmon 1 moves to" in says(opened("18T15:32", "replan", "--take", "--weather", third), code=10)
    assert "night: Thu 22 Oct" not in says(opened("18T15:33", "history"))
    assert "nothing to take" in says(opened("18T15:32", "replan", "--take", "--weather", third))


HEAVY = """
[site]
name = "Alderbeck garden (invented)"
latitude = 45.0
longitude = -70.0
zone = "America/New_York"
[chamber]
holds = "1 kg"
[weather]
source = "sample"
"""


def test_a_batch_that_the_chamber_does_not_hold_is_told_so(tmp_path):
    site = tmp_path / "site.toml"
    site.write_text(HEAVY, "utf-8")
    shell, where = Shell(tmp_path), ("--site", site, "--journal", tmp_path / "j.sqlite", "--now", "2026-10-17T14:00")
    says(shell.run(*OPEN, *where))
    assert "holds 1 kg and this batch weighs 1.3 kg" in says(shell.run("plan", *where))


def test_a_forgotten_record_is_asked_about_and_costs_no_plan(opened):
    says(opened("17T14:00", "plan"))
    told = says(opened("21T11:50", "replan"), code=10)
    assert "can be kept only if what was due is done: record it" in told
    assert "smokenight did thaw --at 2026-10-20T12:00" in told
    says(opened("21T12:01", "did", "thaw", "--at", "2026-10-20T12:00"))
    assert "unchanged; light Fri 23 Oct 21:25" in says(opened("21T12:02", "replan"))
