"""Completion in the shells themselves: bash, fish, and zsh on a terminal of its own."""

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
from command import PATIENCE_S, Shell


@pytest.fixture
def shell(tmp_path):
    return Shell(tmp_path)


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
