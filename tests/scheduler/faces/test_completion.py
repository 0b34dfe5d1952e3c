"""What a shell is told when a person presses the key that completes, and that nothing else is ever said."""

from __future__ import annotations

import os
import re
import select
import shlex
import shutil
import subprocess
import sys
import time

import pytest
from command import PATIENCE_S


@pytest.fixture
def completed(shell):
    """What bash is offered at the end of a line."""

    def ask(line):
        words = shlex.split(line) + ([""] if line.endswith(" ") else [])
        shell.more |= {"COMP_WORDS": line, "COMP_CWORD": str(len(words) - 1), "_SMOKENIGHT_COMPLETE": "complete_bash"}
        done = shell.process()
        assert (done.code, done.err) == (0, "")
        shell.more = {name: value for name, value in shell.more.items() if "COMP" not in name}
        return done.out.split("\n")[:-1]

    return ask


@pytest.fixture
def journal(shell):
    path = shell.home / "j.sqlite"
    for name in ("first", "second one"):
        flags = ("--sample", "--journal", path, "--now", "2026-10-17T14:00")
        assert shell.run("batch", "new", "--weight", "1 kg", "--fresh", "--name", name, *flags).code == 0
    return path


def test_commands_and_flags_are_completed(completed):
    assert completed("smokenight nig") == ["nights"]
    assert completed("smokenight --version nig") == ["nights"]
    assert "--why" in completed("smokenight nights --")


def test_open_batches_are_completed_by_name_as_bash_has_to_be_given_them(completed, journal):
    line = f"smokenight plan --sample --journal {journal} --batch "
    assert completed(line) == ["first", r"second\ one"]
    assert completed(f"{line}se") == [r"second\ one"]
    assert completed(f"{line}third") == [""]


FOLLOWED = ("next", "plan", "replan", "calendar x.ics", "did x", "undo", "history", "reading 3C", "note x")


@pytest.mark.parametrize("command", FOLLOWED)
def test_every_command_that_takes_a_batch_completes_its_name(completed, journal, command):
    assert completed(f"smokenight {command} --sample --journal {journal} --batch f") == ["first"]


def test_the_steps_of_the_batch_that_are_not_done_are_completed(shell, completed, journal):
    did = ("did", "freeze", "--batch", "first", "--sample", "--journal", journal, "--now", "2026-10-17T15:00")
    assert shell.run(*did).code == 0
    line = f"smokenight did --sample --journal {journal} --batch"
    assert completed(f"{line} first f") == ["first_check"]
    assert completed(rf"{line} second\ one f") == ["freeze", "first_check"]
    assert completed("smokenight did --sample sa") == ["salt"]


@pytest.mark.parametrize(
    "line",
    [
        "smokenight did s",  # there is no site file
        "smokenight did --site no/such.toml s",
        "smokenight plan --site . --batch s",
        "smokenight plan --sample --journal no/such.sqlite --batch s",
        "smokenight plan --sample --journal /dev/null --batch s",
        "smokenight nosuch",
    ],
)
def test_what_goes_wrong_completes_nothing_and_says_nothing(completed, line):
    assert completed(line) in ([""], [])


def test_a_journal_is_not_made_by_looking_for_names(shell, completed):
    completed("smokenight plan --sample --batch ")
    assert list(shell.home.iterdir()) == []


MARKS = {
    "bash": "complete -o default -F",
    "zsh": "#compdef smokenight",
    "fish": "complete --command smokenight",
}


@pytest.mark.parametrize("kind", MARKS)
def test_the_script_for_a_shell_is_shown(shell, kind):
    shell.more = {"_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1"}  # so that it is asked for by name
    done = shell.process("--show-completion", kind)
    assert (done.code, done.err) == (0, "")
    assert "_SMOKENIGHT_COMPLETE" in done.out
    assert MARKS[kind] in done.out


def test_the_script_is_installed_in_the_home(shell):
    shell.more = {"_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1"}
    done = shell.process("--install-completion", "bash")
    assert (done.code, done.err) == (0, "")
    assert "smokenight" in (shell.home / ".bashrc").read_text("utf-8")


def test_the_script_for_zsh_completes_as_it_is_loaded_too(shell):
    shell.more = {"_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1"}
    for _ in range(2):
        assert shell.process("--install-completion", "zsh").code == 0
        script = (shell.home / ".zfunc" / "_smokenight").read_text("utf-8")
        assert script.startswith("#compdef smokenight\n")
        assert script.endswith(' && _smokenight_completion "$@"\n')
        assert script.count('"$@"') == 1


def test_a_home_that_cannot_be_written_takes_no_script_and_says_so_in_one_line(shell):
    (shell.home / ".bash_completions").write_text("a file where a folder has to be", "utf-8")
    shell.more = {"_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1"}
    done = shell.process("--install-completion", "bash")
    assert (done.code, done.out) == (2, "")
    assert len(done.err.splitlines()) == 1
    assert done.err.startswith("smokenight: ")


# --- in the shells themselves


@pytest.fixture
def on_path(shell):
    """The command by its name, as shells call it."""
    script = shell.home / "bin" / "smokenight"
    script.parent.mkdir()
    script.write_text(f'#!/bin/sh\nexec {shlex.quote(sys.executable)} -m scheduler "$@"\n', "utf-8")
    script.chmod(0o755)
    shell.more |= {"PATH": f"{script.parent}:{os.environ['PATH']}"}
    return shell


def needs(program):
    return pytest.mark.skipif(shutil.which(program) is None, reason=f"not run: there is no {program} here")


def installed(shell, kind):
    """The script that a person of that shell has after `--install-completion`."""
    shell.more |= {"_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1"}
    assert shell.process("--install-completion", kind).code == 0


def with_names(shell, *names):
    journal = shell.home / "names.sqlite"
    for name in names:
        flags = ("--sample", "--journal", journal, "--now", "2026-10-17T14:00")
        assert shell.run("batch", "new", "--weight", "1 kg", "--fresh", "--name", name, *flags).code == 0
    return f"smokenight plan --sample --journal {journal} --batch "


def in_fish(shell, line):
    """What fish offers at the end of a line, without what it says of each."""
    shell.more |= {"XDG_CONFIG_HOME": str(shell.home / ".config"), "XDG_DATA_HOME": str(shell.home / ".local")}
    environment = {**shell.environment, "LINE": line}
    ask = [shutil.which("fish"), "-c", 'complete -C "$LINE"']
    done = subprocess.run(ask, env=environment, cwd=shell.home, capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stderr) == (0, "")
    return [each.partition("\t")[0] for each in done.stdout.splitlines()]


ZSH_READY = "READY"
ZSH_SETUP = f"""\
autoload -Uz compinit; compinit -u -D
show() {{ zle complete-word; print -r -- "<<$BUFFER>>"; exit }}
zle -N show; bindkey '^I' show; print {ZSH_READY[:3]}''{ZSH_READY[3:]}
"""


def in_zsh(shell, line):
    """The line in zsh after one press of the key that completes; zsh completes on a terminal alone."""
    import pty

    ours, theirs = pty.openpty()
    environment = {**shell.environment, "TERM": "dumb", "ZDOTDIR": str(shell.home)}
    (shell.home / ".zshrc").write_text(f"fpath+={shell.home}/.zfunc\n{ZSH_SETUP}", "utf-8")
    ends = dict.fromkeys(("stdin", "stdout", "stderr"), theirs)
    try:
        with subprocess.Popen(
            [shutil.which("zsh"), "-d", "-i"], env=environment, cwd=shell.home, start_new_session=True, **ends
        ) as running:
            os.close(theirs)
            read_until(ours, ZSH_READY.encode())
            os.write(ours, f"{line}\t".encode())
            shown = read_until(ours, b">>").decode()
            running.kill()
    finally:
        os.close(ours)
    return re.search(r"<<(.*)>>", shown.replace("\r\n", ""))[1]


def read_until(terminal, mark):
    shown, end = b"", time.monotonic() + PATIENCE_S
    while mark not in shown:
        assert time.monotonic() < end, shown.decode()
        if select.select([terminal], [], [], 0.2)[0]:
            shown += os.read(terminal, 65536)
    return shown


IN_BASH = """\
source ~/.bash_completions/smokenight.sh
COMP_WORDS=(smokenight plan --sample --journal names.sqlite --batch "$TYPED"); COMP_CWORD=6
_smokenight_completion smokenight
for reply in "${COMPREPLY[@]}"; do eval "printf '%s\\n' $QUOTE$reply$QUOTE"; done
"""
"""What the command would get: behind a quote bash puts what it is told as it is, and the quote's end."""


@needs("bash")
@pytest.mark.parametrize("typed", ["sec", '"sec', "'sec", r"second\ o", '"second o', "'second o"])
def test_bash_is_given_a_name_as_it_is_however_its_beginning_was_typed(on_path, typed):
    name = "second one, 50 % $HOME (`salt`) \\"
    installed(on_path, "bash")
    with_names(on_path, "first", name)
    environment = {**on_path.environment, "TYPED": typed, "QUOTE": typed[0].strip("s")}
    ask = [shutil.which("bash"), "-c", IN_BASH]
    done = subprocess.run(ask, env=environment, cwd=on_path.home, capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stdout, done.stderr) == (0, f"{name}\n", "")


@needs("fish")
def test_fish_completes_commands_names_and_files(on_path):
    installed(on_path, "fish")
    (on_path.home / "garden.toml").touch()
    line = with_names(on_path, "first", "uncle's long one")
    assert in_fish(on_path, "smokenight nig") == ["nights"]
    assert in_fish(on_path, line) == ["first", "uncle's long one"]
    assert in_fish(on_path, rf"{line}uncle\'s\ l") == ["uncle's long one"]
    assert in_fish(on_path, "smokenight next --site gar") == ["garden.toml"]


@needs("zsh")
@pytest.mark.parametrize(
    ("typed", "completed"),
    [
        ("smokenight nig", "smokenight nights "),
        ("smokenight nights --wh", "smokenight nights --why "),
        ("smokenight did --sample sal", "smokenight did --sample salt "),
        ("smokenight next --site gar", "smokenight next --site garden.toml "),
    ],
)
def test_zsh_completes_commands_flags_steps_and_files_from_the_first_press_on(on_path, typed, completed):
    installed(on_path, "zsh")
    (on_path.home / "garden.toml").touch()
    assert in_zsh(on_path, typed) == completed


@needs("zsh")
@pytest.mark.parametrize("name", ["second one", "50 % $HOME (`salt`): a*b & c", "grüne [Kiste] #1"])
def test_zsh_is_given_a_name_as_it_is(on_path, name):
    installed(on_path, "zsh")
    line = with_names(on_path, name)
    words = in_zsh(on_path, line)
    assert words.startswith(line)
    assert shlex.split(words.removeprefix(line)) == [name]


@needs("zsh")
def test_a_name_that_zsh_would_be_given_wrongly_is_not_offered(on_path):
    installed(on_path, "zsh")
    line = with_names(on_path, "uncle's", "aunt's", "first")
    assert in_zsh(on_path, line) == f"{line}first "
