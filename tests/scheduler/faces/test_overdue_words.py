"""The question whether a step was done, with the command that answers it: to copy into a shell as it stands."""

from __future__ import annotations

import subprocess

import pytest
from feed_house import DAY, House
from served_house import NEW, Served

from scheduler.faces.wording import one_line

NAMES = {
    "plain": "autumn lot",
    "an apostrophe": "Grandma's best",
    "quotes": 'the "good" lot',
    "a command": "$(echo gone) `echo gone` ; echo gone & | > x",
    "a variable": "lot $HOME ${PATH}",
    "backslashes": "a\\b\\\\ c\\",
    "a dash": "-- lot",
    "a star": "* ? [a-z] ~ #1 !!",
    "more than one space": "autumn  lot",
    "letters": "Räucherlachs 鮭",
}


def asked_about(name: str) -> str:
    """The command in the question about a thaw that nobody recorded."""
    house = House()
    house.adopt(house.open(name))
    house.now = house.times(house.book.state.open[0].identity)["thaw"] + DAY / 6
    (news,) = (text for text in house.keep().told[0].news if text.startswith("Was “"))
    command = news.partition("If so: ")[2]
    return command.partition(". If not, do it by")[0]


def words_of(command: str) -> list[str]:
    """What a shell makes of it, and nothing else: the program's name shows its arguments."""
    shown = f"smokenight() {{ printf '%s\\0' \"$@\"; }}\n{command}"
    done = subprocess.run(["/bin/sh", "-c", shown], capture_output=True, text=True, check=True, timeout=20)
    assert done.stderr == ""
    return done.stdout.split("\0")[:-1]


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_a_shell_reads_the_name_of_the_batch_as_it_is(name):
    did, step, flag, given, *_ = words_of(asked_about(name))
    assert (did, step, flag, given) == ("did", "thaw", "--batch", " ".join(name.split()))


@pytest.mark.parametrize("name", ["autumn\u202e lot", "autumn  lot", "$(echo gone)"])
def test_the_batch_answers_to_its_name_as_it_is_shown(tmp_path, name):
    house = Served(tmp_path)
    house.run(*NEW, "--name", name)
    house.run(*NEW, "--name", "another")
    for command in ("plan", "replan"):
        done = house.run(command, "--batch", one_line(name))
        assert done.code == 0, done.err
        assert one_line(name) in done.out + done.err
        assert "\u202e" not in done.out + done.err
