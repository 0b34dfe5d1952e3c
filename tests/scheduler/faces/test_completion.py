"""What a shell is told when a person presses the key that completes, and that nothing else is ever said."""

from __future__ import annotations

import shlex

import pytest


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
