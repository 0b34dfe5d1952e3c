"""What `serve` refuses and says before anything is served, and what `address` says: exact words, no server."""

from __future__ import annotations

import shlex
import socket
import sqlite3
from dataclasses import replace

import pytest
from feed_house import SITE

from scheduler.errors import BadJournal
from scheduler.faces.web import command
from scheduler.faces.web.address import address_path, path_of, secret_of
from scheduler.household.site_file import write_site
from scheduler.journal import files
from scheduler.journal.migrations import MIGRATIONS
from scheduler.journal.store import Journal


@pytest.fixture
def keepers(monkeypatch):
    """Those that would have served: each serves nothing, but could."""
    found = []
    monkeypatch.setattr(command, "run_together", lambda keeper, listening: found.append(keeper) or True)
    return found


@pytest.fixture
def site(shell):
    """The household's own."""
    write_site(SITE, shell.site_file)
    return shell.site_file


@pytest.fixture
def journal(tmp_path):
    path = tmp_path / "journal.sqlite"
    Journal.open(path).close()
    return path


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def refusal(done):
    assert (done.code, done.out, done.err.count("\n")) == (2, "", 1)
    return done.err


@pytest.mark.parametrize("host", ["0.0.0.0", "0", "::", "0::0", ""])  # noqa: S104 - what is refused
def test_a_server_at_every_address_is_refused_until_it_is_told_how_it_is_reached(shell, site, keepers, host):
    port = free_port()
    line = refusal(shell.run("serve", "--host", host, "--port", str(port)))
    assert f"--host: {host!r} means every address of this machine" in line
    assert f"--public-url http://NAME:{port}\n" in line
    assert keepers == []
    done = shell.run("serve", "--host", host, "--port", str(port), "--public-url", f"http://shed.home.arpa:{port}")
    assert done.code == 0
    assert [one.public_url for one in keepers] == [f"http://shed.home.arpa:{port}"]


@pytest.mark.parametrize("url", ["http://0.0.0.0:8471", "http://[::]:8471", ""])
def test_a_public_url_that_leads_nowhere_is_refused(shell, site, keepers, url):
    for args in (("serve", "--port", "0"), ("address",)):
        assert f"--public-url: {url!r} is no address" in refusal(shell.run(*args, "--public-url", url))


@pytest.mark.parametrize(
    "args", [(), ("--host", "::1"), ("--host", "localhost"), ("--public-url", "https://smoke.example.org/a'b")]
)
def test_what_serve_says_to_type_shows_the_addresses_of_this_very_server(shell, site, keepers, args):
    done = shell.run("serve", "--port", str(free_port()), *args)
    said = done.err.partition("`")[2].rpartition("`")[0]
    assert "--public-url" in said
    url, secret = keepers[0].public_url, secret_of(site)
    shown = shell.run(*shlex.split(said)[1:])
    assert shown.out == f"page      {url}{path_of(secret)}\ncalendar  {url}{path_of(secret, 'smoke.ics')}\n"


def test_another_port_is_said_with_the_exact_command(shell, site, keepers):
    port = free_port()
    url = f"http://127.0.0.1:{port}"
    said = f"serving 1 site at {url}; `smokenight address --public-url {url}` shows the addresses\n"
    assert shell.run("serve", "--port", str(port)).err == said


def test_at_the_usual_address_the_command_is_short(shell, site, keepers, monkeypatch):
    monkeypatch.setattr(command, "_listen", lambda *_: socket.create_server(("127.0.0.1", 0)))
    for more in ((), ("/",)):
        done = shell.run("serve", "--public-url", "".join(("http://127.0.0.1:8471", *more)))
        assert "; `smokenight address` shows the addresses\n" in done.err


def test_sites_that_are_not_the_household_s_own_are_named(shell, site, keepers, tmp_path):
    one, other = tmp_path / "a shed.toml", tmp_path / "b.toml"
    for path in (one, other):
        write_site(replace(SITE, name=path.stem), path)
    of_one = shell.run("serve", one, "--port", "0").err
    assert f"`smokenight address --site '{one}' --public-url http://127.0.0.1:" in of_one
    assert "`smokenight address --site FILE --public-url" in shell.run("serve", one, other, "--port", "0").err


def test_a_named_journal_that_is_not_there_is_refused_and_nothing_is_made(shell, site, keepers, tmp_path):
    path = tmp_path / "lost" / "journal.sqlite"
    line = refusal(shell.run("serve", "--port", "0", "--journal", path))
    assert line == f"smokenight: --journal: there is no journal {str(path)!r}; name one that is there\n"
    assert not path.parent.exists()
    assert keepers == []


def test_a_named_journal_that_goes_while_it_is_served_is_not_made_anew(shell, site, keepers, journal):
    assert shell.run("serve", "--port", "0", "--journal", journal).code == 0
    keepers[0].journal().close()
    journal.unlink()
    with pytest.raises(BadJournal, match=r"journal\.sqlite is gone: put it back"):
        keepers[0].journal()
    assert not journal.exists()


def test_the_household_s_own_journal_is_begun(shell, site, keepers, monkeypatch, tmp_path):
    own = tmp_path / "data" / "journal.sqlite"
    monkeypatch.setattr("scheduler.journal.store.default_journal_path", lambda: own)
    assert shell.run("serve", "--port", "0").code == 0
    keepers[0].journal().close()
    assert own.exists()


def a_folder(path):
    path.mkdir()


def another_program_s(path):
    with sqlite3.connect(path) as db:
        db.execute("CREATE TABLE t (a)")
    db.close()


@pytest.mark.parametrize(
    ("put", "words"),
    [
        (a_folder, "is a folder: name the file in it"),
        (lambda path: path.write_bytes(b"garbage" * 1000), "is not a journal of smokenight"),
        (lambda path: path.write_bytes(b""), "is empty, which a journal never is"),
        (another_program_s, "is not a journal of smokenight"),
    ],
)
@pytest.mark.parametrize("named", [True, False])
def test_what_is_no_journal_is_refused_at_the_start_in_one_line(
    shell, site, keepers, tmp_path, monkeypatch, put, words, named
):
    path = tmp_path / "j.sqlite"
    put(path)
    monkeypatch.setattr("scheduler.journal.store.default_journal_path", lambda: path)
    line = refusal(shell.run("serve", "--port", "0", *(("--journal", path) if named else ())))
    assert line.startswith(f"smokenight: journal {path} {words}")
    assert keepers == []


def held(path, keep):
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("PRAGMA locking_mode = EXCLUSIVE")
    holder.execute("BEGIN EXCLUSIVE")
    keep.append(holder)


def cut_off(path, keep):
    path.write_bytes(path.read_bytes()[:-100])


def newer(path, keep):
    with sqlite3.connect(path) as db:
        db.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 1}")
    db.close()


@pytest.mark.parametrize("spoil", [held, cut_off, newer])
def test_with_a_journal_in_trouble_serving_begins_all_the_same(shell, site, keepers, journal, monkeypatch, spoil):
    monkeypatch.setattr(files, "WAIT_S", 0.05)
    keep = []
    spoil(journal, keep)
    assert shell.run("serve", "--port", "0", "--journal", journal).code == 0
    with pytest.raises(BadJournal):
        keepers[0].journal()
    for holder in keep:
        holder.close()


def test_a_new_address_says_when_a_running_server_opens_it_and_closes_the_old(shell, site):
    done = shell.run("address", "--new")
    assert done.code == 0
    assert done.err == (
        "A new address: subscribe anew everywhere. Within half a minute a running server opens the new address and"
        " closes the old one.\n"
    )


def test_a_copied_address_is_told_at_the_start_with_what_to_type_and_that_helps(shell, keepers, tmp_path):
    first, second = tmp_path / "a.toml", tmp_path / "b.toml"
    write_site(replace(SITE, name="a"), first)
    assert shell.run("address", "--site", first).code == 0
    write_site(replace(SITE, name="b"), second)
    address_path(second).write_bytes(address_path(first).read_bytes())
    done = shell.run("serve", tmp_path, "--port", "0")
    told = f"`smokenight address --new --site {second}` makes its own"
    assert f"smokenight: not served: b.toml: its address is that of a.toml; {told}\n" in done.err
    assert list(keepers[0].sites.served) == [first]
    assert shell.run(*shlex.split(told.split("`")[1])[1:]).code == 0
    assert keepers[0].sites.look() == ({second}, set())


def test_an_empty_folder_is_refused_and_beside_a_site_it_is_told(shell, keepers, tmp_path, site):
    empty = tmp_path / "empty"
    empty.mkdir()
    words = f"the folder {str(empty)!r} holds no site file (NAME.toml)"
    assert refusal(shell.run("serve", empty, "--port", "0")) == f"smokenight: {words}\n"
    done = shell.run("serve", site, empty, "--port", "0")
    assert (done.code, done.err.startswith(f"smokenight: not served: {words}\n")) == (0, True)
