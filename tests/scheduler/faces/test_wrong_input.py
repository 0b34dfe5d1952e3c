"""Wrong input, end to end: an exit code and one line on stderr, nothing on stdout, and no traceback."""

from __future__ import annotations

import gzip
import socket
from typing import TYPE_CHECKING

import faults
import pytest
from command import AT, SAMPLE, put_hours

if TYPE_CHECKING:
    from pathlib import Path

SITE = '[site]\nname = "invented garden"\nlatitude = 45.0\nlongitude = -70.0\nzone = "America/New_York"\n'
PROCESS = """\
name = "mine"
title = "Mine"
foods = ["salmon"]
[cure]
salt = "12 %"
sugar = "12 %"
loss = "12 %"
[[step]]
name = "salt"
title = "Salt"
hands_on = "45 min"
leads_to = "light"
wait = { least = "44 h", usual = "48 h", longest = "60 h" }
during = "salted"
[[step]]
name = "light"
title = "Light"
hands_on = "10 min"
[[step]]
name = "lift"
title = "Lift"
hands_on = "20 min"
comes_from = "light"
"""
T6, T7 = "2026-10-17T06:00Z", "2026-10-17T07:00Z"
HOUR = f"time,air_c\n{T6},8\n"

SITES = {
    "empty": ("", "[site] name: is missing"),
    "without zone": (SITE.replace("zone", "#"), "[site] zone: is missing"),
    "latitude too far": (SITE.replace("45.0", "91"), "[site] latitude: 91 lies outside of -90 to 90"),
    "latitude as text": (SITE.replace("45.0", '"45"'), "[site] latitude: '45' is text"),
    "zone unknown": (SITE.replace("New_York", "New_Yrk"), 'did you mean "America/New_York"?'),
    "ceiling without unit": (SITE + "[limits]\nceiling = 60\n", "[limits] ceiling: 60 may be °F or °C"),
    "ceiling in the wrong unit": (SITE + '[limits]\nceiling = "60 C"\n', "over the limit of the chamber itself"),
    "ceiling under the floor": (SITE + '[limits]\nceiling = "-5 C"\n', "is not above the floor"),
    "key misspelt": (SITE + '[limits]\ncieling = "60 F"\n', "did you mean 'ceiling'?"),
    "section misspelt": (SITE + '[limit]\nceiling = "60 F"\n', "did you mean 'limits'?"),
    "smoke too long": (SITE + '[smoke]\nduration = "1 d"\n', "is not a smoke of 8 h to 18 h"),
    "hours on a 12-hour clock": (SITE + '[household]\nhours = "6 am-10 pm"\n', "[household] hours"),
    "lighting while nobody is home": (SITE + '[household]\nhours = "06:00-12:00"\n', "[household] lighting"),
    "always away": (SITE + '[household]\nhours = "away"\n', "at home on one day at least"),
    "chance in a hundred": (SITE + "[verdict]\ngood = 80\n", "write 0.80"),
    "three fronts": (SITE + "[tray]\nfronts = 3\n", "[tray] fronts: 3"),
    "a contact that is none": (SITE + '[weather]\ncontact = "me"\n', "[weather] contact: 'me'"),
    "no TOML": (SITE + "[limits\n", "line 6: not TOML"),
    "no UTF-8": (SITE.encode() + b"#\xff", "not UTF-8"),
    "a service that there is not": (SITE + '[weather]\nsource = "open-meto"\n', "did you mean 'open-meteo'?"),
    "a table that is not there": (SITE + '[weather]\nsource = "lost.csv"\n', "lost.csv: there is no such file"),
}

PROCESSES = {
    "empty": ("", "name: is missing"),
    "without steps": (PROCESS.split("[[step]]")[0], "there are no steps"),
    "waits out of order": (PROCESS.replace('"60 h"', '"40 h"'), "step salt wait"),
    "wait without unit": (PROCESS.replace('"44 h"', "44"), "44 lacks a unit"),
    "step to nowhere": (PROCESS.replace('to = "light"', 'to = "ligth"'), "did you mean 'light'?"),
    "without lift": (PROCESS[: PROCESS.rindex("[[step]]")], "no step named 'lift'"),
    "a food that is refused": (PROCESS.replace("salmon", "mackerel"), "histamine"),
    "an unknown caution": (PROCESS.replace("during", 'cautions = ["fire"]\nduring'), "step salt cautions: 'fire'"),
    "for another food": (PROCESS.replace("salmon", "trout"), "the process 'mine' is for trout"),
    "no TOML": (PROCESS + "[[step]\n", "not TOML"),
}

TABLES = {
    "empty": ("", "is empty"),
    "header alone": ("time,air_c\n", "no hours"),
    "without air": (f"time,rain_mm\n{T6},0\n", "no column for the air"),
    "without time": ("air_c\n8\n", "no column time"),
    "an unknown column": (f"time,air_c,rian_mm\n{T6},8,0\n", "did you mean rain_mm"),
    "a time without offset": ("time,air_c\n2026-10-17T06:00,8\n", "line 2, column time"),
    "the same time twice": (HOUR + f"{T6},8\n", "same instant as line 2"),
    "times out of order": (f"time,air_c\n{T7},8\n{T6},8\n", "earlier than line 2"),
    "a word for a number": (HOUR + f"{T7},mild\n", "line 3, column air_c"),
    "Fahrenheit for Celsius": (HOUR + f"{T7},71\n", "air_f"),
    "humidity above all": (f"time,air_c,humidity_pct\n{T6},8,120\n", "0 to 100"),
    "a cell too many": (HOUR + f"{T7},8,9\n", "line 3"),
    "decimal commas": (HOUR + f"{T7},8,5\n", "decimals with a point"),
    "half a gzip": (gzip.compress(HOUR.encode() * 50)[:-20], "gzip"),
    "UTF-16": (HOUR.encode("utf-16"), "UTF-8"),
}

FLAGS = {
    "no such command": (("smoke",), "no such command 'smoke'"),
    "a command misspelt": (("nigths",), "did you mean 'nights'? see `smokenight --help`"),
    "no such flag": (("next", "--sampel"), "--sampel"),
    "a flag cut short": (("next", "--sample", "--fis", "frozen"), "(possible options: --fish"),
    "a flag of another command": (("nights", "--fish", "frozen"), "no such option: --fish"),
    "a flag without its value": (("next", "--site"), "option '--site' requires an argument"),
    "a switch with a value": (("nights", "--why=yes"), "option '--why' does not take a value"),
    "a word too many": (("next", "--sample", "now"), "see `smokenight next --help`"),
    "calendar without a file": (("calendar", "--sample"), "missing argument 'OUT.ics'"),
    "a line break in a command": (("a\nb",), "no such command"),
    "a line break in a flag": (("next", "--a\nb"), "no such option"),
    "no site file": (("next", "--site", "lost.toml"), "lost.toml: there is no such file"),
    "a folder as site file": (("nights", "--site", "/"), "is a folder"),
    "no process file": (("next", *SAMPLE, "--process", "lost.toml"), "lost.toml: there is no such file"),
    "no table": (("next", *SAMPLE, "--weather", "lost.csv"), "lost.csv: there is no such file"),
    "a table's name that no file has": (("next", *SAMPLE, "--weather", "x" * 300), "file name too long"),
    "a service that there is not": (("next", *SAMPLE, "--weather", "open-meto"), "did you mean 'open-meteo'?"),
    "no source named": (("next", *SAMPLE, "--weather", ""), "is a folder"),
    "a moment in words": (("next", "--sample", "--now", "tomorrow"), "--now: 'tomorrow' is no time"),
    "an empty moment": (("nights", "--sample", "--now", ""), "--now: '' is no time"),
    "a moment with colours": (("next", "--sample", "--now", "\x1b[31mred"), r"--now: '\x1b[31mred' is no time"),
    "a date alone": (("next", "--sample", "--now", "2026-10-17"), "has no time of day"),
    "an hour that no day has": (("next", "--sample", "--now", "2026-10-17T25:00"), "is no time"),
    "an hour that the clock skips": (("next", "--sample", "--now", "2026-03-08T02:30"), "the clock skips"),
    "an hour that comes twice": (("next", "--sample", "--now", "2026-11-01T01:30"), "twice in America/New_York"),
    "the year 1": (("next", "--sample", "--now", "0001-01-01T00:00"), "not from 1900 to 2200"),
    "the year 1 with its offset": (("nights", "--sample", "--now", "0001-01-01T00:00+14:00"), "not from 1900 to 2200"),
    "the last year of all": (("next", "--sample", "--now", "9999-12-31T23:59"), "not from 1900 to 2200"),
    "a state that there is not": (("next", *SAMPLE, "--fish", "smoked"), "'smoked' is no state of the food"),
    "salted since nobody knows when": (("next", *SAMPLE, "--fish", "salted"), "add --since TIME"),
    "salted in the future": (
        ("next", *SAMPLE, "--fish", "salted", "--since", "2026-10-18T12:00"),
        "lies in the future",
    ),
    "salted a year ago": (
        ("next", *SAMPLE, "--fish", "salted", "--since", "2025-10-16T12:00"),
        "--since: '2025-10-16T12:00' is 366 days ago; is the year right?",
    ),
    "frozen since": (("next", *SAMPLE, "--since", "2026-10-17T12:00"), "--since goes with salmon that is on its way"),
    "a state of the sawdust that there is not": (("next", *SAMPLE, "--sawdust", "wet"), "sawdust 'wet' is not known"),
    "soaking since nobody knows when": (("next", *SAMPLE, "--sawdust", "soaking"), "add --sawdust-since TIME"),
    "a time for dry sawdust": (
        ("next", *SAMPLE, "--sawdust", "dry", "--sawdust-since", "2026-10-17T12:00"),
        "--sawdust-since goes with --sawdust soaking or drying",
    ),
    "a time for no sawdust": (("next", *SAMPLE, "--sawdust-since", "2026-10-17T12:00"), "--sawdust-since goes with"),
    "a food without a process": (("next", *SAMPLE, "--food", "cod"), "known are: salmon, trout"),
    "a food that forms histamine": (("next", *SAMPLE, "--food", "mackerel"), "scombrotoxin"),
    "a weight without its unit": (("next", *SAMPLE, "--weight", "1.3"), "--weight: '1.3' lacks a unit"),
    "a weight that is none": (("next", *SAMPLE, "--weight", "heavy"), "--weight: 'heavy'"),
    "a weight of nothing": (("next", *SAMPLE, "--weight", "0 g"), "--weight: '0 g' is not from 1 g to 100 kg"),
    "a weight below nothing": (("next", *SAMPLE, "--weight", "-1 kg"), "--weight: '-1 kg'"),
    "a weight without end": (("next", *SAMPLE, "--weight", "1e999 kg"), "--weight: '1e999 kg'"),
    "grams meant, kilograms said": (("next", *SAMPLE, "--weight", "1300 kg"), "not from 1 g to 100 kg"),
    "a pack in metres": (("next", *SAMPLE, "--largest-pack", "2 m"), "--largest-pack: '2 m' is a length"),
    "a batch of two lines": (("calendar", "no.ics", *SAMPLE, "--batch", "a\nb"), "--batch: 'a\\nb' is not one line"),
    "a batch without a name": (("calendar", "no.ics", *SAMPLE, "--batch", ""), "--batch: '' is not one line"),
    "a calendar where there is no folder": (("calendar", "no/such/x.ics", *SAMPLE), "there is no folder"),
    "a calendar that is a folder": (("calendar", "/", *SAMPLE), "it is a folder"),
    "a calendar without a name": (("calendar", "", *SAMPLE), "it is a folder"),
    "a site without a place": (("setup",), "setup needs more of the place: add --near"),
    "a latitude in words": (("setup", "--latitude", "north"), "--latitude: 'north' is no number"),
    "a latitude that is no place": (
        ("setup", "--latitude", "95", "--longitude", "0", "--zone", "UTC"),
        "[site] latitude: 95 lies outside",
    ),
    "a weekday that there is not": (
        ("setup", "--latitude", "45", "--longitude", "0", "--zone", "UTC", "--day", "mnday=away"),
        "did you mean 'monday'?",
    ),
    "a weekday without hours": (("setup", "--day", "monday"), "write it like monday=08:00-12:00"),
    "a match of no search": (
        ("setup", "--latitude", "45", "--longitude", "0", "--zone", "UTC", "--pick", "2"),
        "--pick goes with --near",
    ),
    "a site with a service that there is not": (
        ("setup", "--latitude", "45", "--longitude", "0", "--zone", "UTC", "--weather", "nosuch"),
        "--weather: 'nosuch' is not known; choose one of: open-meteo,",
    ),
    "a name that is no text": (
        ("setup", "--latitude", "45", "--longitude", "0", "--zone", "UTC", "--name", "\udcff"),
        "not UTF-8",
    ),
}

JOURNAL = {
    "a batch that there is not": (("plan", "--batch", "nosuch"), "there is no batch 'nosuch'; known are: salmon 1"),
    "a night that is no day": (("plan", "--night", "tomorrow"), "'tomorrow' is no day; write it like 2026-10-23"),
    "a night beyond the forecast": (("plan", "--night", "2026-11-30"), "it reaches from Sat 17 Oct to Sun 1 Nov"),
    "a plan that nobody adopted": (("replan", "--batch", "salmon 1"), "`smokenight plan` adopts one"),
    "a step that there is not": (("did", "smoke"), "'smoke' is no step of the process 'dry-salted-fish'"),
    "a step out of order": (("did", "lift"), "record when light was done"),
    "a step in the future": (
        ("did", "salt", "--at", "2026-10-18T10:00"),
        "is still ahead; it is Sat 17 Oct 14:00 here",
    ),
    "a step before its batch": (("did", "salt", "--at", "2026-10-01T10:00"), "`smokenight batch new --since TIME`"),
    "a step without a word": (("did",), "missing argument 'STEP'; see `smokenight did --help`"),
    "a weight without its unit": (("did", "salt", "--weight", "5"), "--weight: '5' lacks a unit"),
    "sawdust at the wrong step": (("did", "salt", "--sawdust", "200 g"), "`smokenight did lit`"),
    "a note that says nothing": (("note", " "), "WORDS: it says nothing"),
    "nothing to take back an undo of": (("undo", "--redo"), "there is no undo to take back"),
    "a temperature without its unit": (("reading", "13", "--where", "porch"), "'13' may be °F or °C"),
    "a place of no thermometer": (("reading", "13C", "--where", "attic"), "known are: porch, chamber, fridge, freezer"),
    "a reading of nowhere": (("reading", "13C"), "say where it was read: --where porch"),
    "a log that is not there": (("reading", "--from", "no.csv", "--where", "porch"), "no.csv: there is no such file"),
    "an end that is none": (("batch", "end", "--how", "burnt"), "known are: eaten, cooked, frozen"),
    "frozen in the future": (("batch", "new", "--frozen", "2027-01-01"), "is still ahead; is the year right?"),
    "a freezer that is none": (("batch", "new", "--frozen", "2026-09-20", "--at", "20 C"), "such as '-20 C' or '0 F'"),
    "fresh and frozen": (("batch", "new", "--fresh", "--frozen", "2026-09-20"), "leave one of them out"),
    "a word too many": (("history", "salmon"), "nothing is known to do with: salmon; see `smokenight history --help`"),
}
"""What a household may get wrong while it follows a batch; a flag is left out of the tables where it is the same."""

LOGS = {
    "without a column of times": ("a,b\n1,2\n", "line 1: no column is called time; begin it with the line time,air_c"),
    "with a word for a time": (
        "time,air_c\nnoon,6\n",
        "line 2: time: 'noon' is no time; write it like 2026-10-17T14:00",
    ),
    "from the future": ("time,air_c\n2027-10-17T12:00,5\n", "is still ahead; is the clock right?"),
    "without a reading": ("time,air_c\n", "no readings; begin it with the line time,air_c"),
}

ANSWERS = {
    "an error of the service": (faults.status(500), "status 500"),
    "a refusal with its reason": (
        faults.reason(400, "Parameter forecast_days is invalid."),
        "forecast_days is invalid",
    ),
    "a web page": (faults.says(faults.HTML), "web page"),
    "a bare nan": (faults.says(faults.NOT_COVERED), "does not cover this place"),
    "half an answer": (faults.cut_body, "cut short"),
    "nothing": (faults.says(b""), "nothing"),
    "a list": (faults.says(b"[]"), "a list"),
    "a word among the numbers": (
        faults.with_hours("temperature_2m", lambda hours: ["x", *hours[1:]]),
        "temperature_2m",
    ),
    "hours that are missing": (faults.with_hours("time", lambda hours: hours[:-3]), "temperature_2m"),
    "a redirect to strangers": (faults.redirect("https://elsewhere.example/"), "another host"),
}


def put(folder: Path, name: str, content: str | bytes) -> Path:
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def refusal(done, code=2):
    """The one line that a refused command says."""
    assert done.out == ""
    assert "Traceback" not in done.err
    assert done.code == code
    assert done.err.startswith("smokenight: ")
    assert done.err.endswith("\n")
    line = done.err.removesuffix("\n")
    assert line.isprintable()
    assert len(line) < 500
    return line


@pytest.mark.parametrize(("content", "words"), SITES.values(), ids=SITES)
def test_a_wrong_site_file_ends_every_command_with_one_line(shell, tmp_path, content, words):
    path = put(tmp_path, "site.toml", content)
    for command in (("next",), ("nights", "--why"), ("calendar", tmp_path / "no.ics")):
        line = refusal(shell.run(*command, "--site", path, *AT))
        assert words in line
    assert not (tmp_path / "no.ics").exists()


@pytest.mark.parametrize(("content", "words"), PROCESSES.values(), ids=PROCESSES)
def test_a_wrong_process_file_ends_with_one_line(shell, tmp_path, content, words):
    line = refusal(shell.run("next", *SAMPLE, "--food", "salmon", "--process", put(tmp_path, "mine.toml", content)))
    assert words in line


def test_the_process_file_that_the_wrong_ones_are_made_from_is_right(shell, tmp_path):
    assert shell.run("next", *SAMPLE, "--fish", "fresh", "--process", put(tmp_path, "mine.toml", PROCESS)).code == 0


@pytest.mark.parametrize(("content", "words"), TABLES.values(), ids=TABLES)
def test_a_wrong_table_ends_with_one_line_that_names_it(shell, tmp_path, content, words):
    path = put(tmp_path, "hours.csv", content)
    line = refusal(shell.run("next", *SAMPLE, "--weather", path))
    assert line.startswith(f"smokenight: {path}: ")
    assert words in line


def test_a_table_next_to_the_wrong_ones_is_right(shell, tmp_path):
    assert shell.run("next", *SAMPLE, "--weather", put_hours(tmp_path / "hours.csv", 8.0, days=10)).code == 0


@pytest.mark.parametrize(("args", "words"), FLAGS.values(), ids=FLAGS)
def test_wrong_flags_end_with_one_line_that_says_what_would_do(shell, tmp_path, monkeypatch, args, words):
    monkeypatch.chdir(tmp_path)
    assert words in refusal(shell.run(*args))
    assert [path.name for path in tmp_path.iterdir()] == ["home"]
    assert not list(shell.home.iterdir())


@pytest.mark.parametrize(("fault", "words"), ANSWERS.values(), ids=ANSWERS)
def test_a_wrong_answer_of_a_service_ends_with_one_line(shell, online, tmp_path, fault, words):
    online.script("/v1/forecast", *[fault] * 12)
    flags = ("--sample", "--weather", "open-meteo", "--now", "2026-10-20T12:00Z")
    assert words in refusal(shell.run("calendar", tmp_path / "no.ics", *flags), code=3)
    assert not (tmp_path / "no.ics").exists()


def test_a_refusal_is_one_line_as_a_process_too(shell):
    assert "is no state" in refusal(shell.process("next", *SAMPLE, "--fish", "smoked"))
    assert "see `smokenight next --help`" in refusal(shell.process("next", "--nonsense"))


@pytest.fixture
def journal(shell, tmp_path):
    path = tmp_path / "journal.sqlite"
    assert shell.run("batch", "new", "--weight", "1.3 kg", "--fresh", *SAMPLE, "--journal", path).code == 0
    return path


@pytest.mark.parametrize(("args", "words"), JOURNAL.values(), ids=JOURNAL)
def test_wrong_words_of_a_batch_end_with_one_line_and_record_nothing(shell, journal, args, words):
    before = journal.read_bytes()
    assert words in refusal(shell.run(*args, *SAMPLE, "--journal", journal))
    assert journal.read_bytes() == before


@pytest.mark.parametrize(("content", "words"), LOGS.values(), ids=LOGS)
def test_a_wrong_log_ends_with_one_line_that_names_it(shell, journal, tmp_path, content, words):
    path = put(tmp_path, "probe.csv", content)
    line = refusal(shell.run("reading", "--from", path, "--where", "porch", *SAMPLE, "--journal", journal))
    assert line.startswith(f"smokenight: {path}: ")
    assert words in line


@pytest.mark.parametrize("command", [("plan",), ("replan",), ("did", "salt"), ("undo",), ("note", "x"), ("history",)])
def test_a_journal_that_is_not_there_is_not_begun_by_what_needs_one(shell, tmp_path, command):
    path = tmp_path / "typo.sqlite"
    assert f"there is no journal {str(path)!r}" in refusal(shell.run(*command, *SAMPLE, "--journal", path))
    assert not path.exists()


@pytest.mark.parametrize(
    ("content", "words"), [(b"hello", "is not a journal of smokenight"), (b"", "is empty, which a journal never is")]
)
def test_what_is_no_journal_is_said_by_every_command(shell, tmp_path, content, words):
    path = put(tmp_path, "odd.sqlite", content)
    for command in (("next",), ("plan",), ("did", "salt"), ("history",), ("batch",), ("learned",)):
        assert words in refusal(shell.run(*command, *SAMPLE, "--journal", path))
        assert path.read_bytes() == content


def test_one_night_that_will_not_do_is_named(shell, journal):
    done = shell.run("plan", "--night", "2026-10-18", *SAMPLE, "--journal", journal)
    assert done.code == 1
    assert done.out.startswith("Sun 18 Oct is a good night, but you cannot be ready for it.\n")


def test_a_port_that_is_taken_is_said_in_one_line(shell, tmp_path):
    site = put(tmp_path, "site.toml", SITE)
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        line = refusal(shell.run("serve", site, "--port", str(port)))
    assert line == (
        f"smokenight: cannot listen at 127.0.0.1 port {port}: address already in use;"
        " name others with --host and --port"
    )


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("--port", "99999"), "99999 is not from 0 to 65535"),
        (("--port", "http"), "'http' is no whole number"),
        (("--public-url", "mine"), "'mine' is no address; write it like https://smoke.example.org"),
        (("nosuch.toml", "--port", "0"), "nosuch.toml: there is no such file: run `smokenight setup`"),
    ],
)
def test_what_cannot_be_served_is_said_in_one_line(shell, args, words):
    assert words in refusal(shell.run("serve", *args))


def test_a_place_that_cannot_be_looked_up_can_be_said(shell):
    line = refusal(shell.run("setup", "--near", "Smokeham"), code=3)
    assert line.endswith("could not be reached: connection refused; say the position instead, with --latitude,"
                         " --longitude and --zone")  # fmt: skip


def test_a_home_that_is_a_file_takes_nothing_and_says_so(shell, tmp_path):
    site = put(tmp_path, "site.toml", SITE)
    shell.home = put(tmp_path, "file", "")
    shell.more = {"XDG_DATA_HOME": str(shell.home / "data")}
    assert shell.run("next", *SAMPLE).code == 0
    assert "there is no such file" in refusal(shell.run("next"))
    assert "cannot be written" in refusal(shell.run("setup", "--latitude", "45", "--longitude", "0", "--zone", "UTC"))
    assert "cannot be used (Not a directory)" in refusal(shell.run("batch", "new", "--fresh", "--site", site))
