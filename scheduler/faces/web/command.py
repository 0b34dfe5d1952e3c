"""`serve` and `address`: hand out the calendar and the page, and say where they are."""

from __future__ import annotations

import gc
import logging
import signal
import socket
import sys
import threading
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.errors import BadSetting
from scheduler.faces import asking, options
from scheduler.faces.printing import complain, remark, say
from scheduler.faces.web.reach import HOST, PORT, USUAL_URL, address_command, checked, url_at
from scheduler.faces.wording import plural

if TYPE_CHECKING:
    from scheduler.faces.web.cells import Weather
    from scheduler.faces.web.keeper import Keeper
    from scheduler.faces.web.shelf import Shelf
    from scheduler.faces.web.sites import Served
    from scheduler.planning.answers import Span

FAULT = 70
"""The exit code where the keeper ended by a fault of ours (EX_SOFTWARE of BSD's sysexits)."""

LEAVE_S = 3.0
"""How long an end waits for what the keeper is doing (our judgement)."""

log = logging.getLogger("smokenight")

PublicUrl = Annotated[
    str | None,
    typer.Option("--public-url", help="How your household reaches the server, such as https://smoke.example.org."),
]


def serve(
    sites: Annotated[
        list[Path] | None,
        typer.Argument(metavar="[SITE]...", help="Site files, or folders of them; else the one that `setup` made."),
    ] = None,
    host: Annotated[str, typer.Option("--host", help="The address to listen at; else this machine alone.")] = HOST,
    port: Annotated[int, typer.Option("--port", help="The port to listen at.", min=0, max=65535)] = PORT,
    public_url: PublicUrl = None,
    journal: options.JournalFile = None,
) -> None:
    """Serve each site's calendar and page, kept up to date.

    Until it is stopped.  Each lies behind an address of its own, which `smokenight address` shows.
    For example: smokenight serve
    """
    from scheduler.faces.progress import no_progress
    from scheduler.faces.web.records import refuse_what_is_none
    from scheduler.faces.web.shelf import Shelf

    no_progress()
    logging.basicConfig(level=logging.INFO, format="%(message)s", stream=sys.stderr)
    shelf = Shelf()
    with _listen(host, port) as listening:
        url = url_at(host, port, listening) if public_url is None else checked(public_url)
        refuse_what_is_none(journal)
        keeper = _keeper(_named(sites), shelf, journal, url)
        keeper.sites.look()
        troubles = [trouble for _, trouble in sorted(keeper.sites.troubles.items())]
        if not keeper.sites.served and len(troubles) == 1:
            raise BadSetting(troubles[0])
        for trouble in troubles:
            complain(f"not served: {trouble}")
        if not keeper.sites.served:
            raise BadSetting("no site can be served; mend its file, or make one with `smokenight setup`")
        sites_served = plural(len(keeper.sites.served), "site")
        to_see = address_command(url, tuple(keeper.sites.served), *_named(None))
        remark(f"serving {sites_served} at {url}; `{to_see}` shows the addresses")
        if not run_together(keeper, listening):
            raise typer.Exit(FAULT)


def run_together(keeper: Keeper, listening: socket.socket) -> bool:
    """Keep and serve until a signal ends both; whether it was one, and not a fault of the keeper.

    The process never serves on without its keeper: who watches it is to start it anew.
    """
    from scheduler.faces.web.app import app_of
    from scheduler.faces.web.listening import run, server_for

    server, stop, faults = server_for(app_of(keeper.shelf)), threading.Event(), list[Exception]()

    def keep() -> None:
        try:
            keeper.run(stop)
        except Exception as exc:  # it is told here, and by the exit code
            log.exception("a fault of ours ended the keeper")
            faults.append(exc)
        finally:
            server.should_exit = True

    def end(*_: object) -> None:
        stop.set()
        server.should_exit = True

    gc.enable()  # the command line does without, as other commands end too soon for it to pay
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, end)  # the server hands a signal on once it has ended: to nobody that would kill us
    keeper.begin()
    # A daemon, as a weather service may be slow to answer and the journal survives an end at any moment.
    thread = threading.Thread(target=keep, name="keeper", daemon=True)
    thread.start()
    if not stop.is_set():
        run(server, listening)
    stop.set()
    thread.join(LEAVE_S)
    return not faults


def address(
    site: options.SiteFile = None,
    new: Annotated[bool, typer.Option("--new", help="Draw a new address; the old one is closed.")] = False,
    public_url: PublicUrl = None,
) -> None:
    """Show the secret addresses of a site's page and calendar.

    Who has them can read your plans: keep them to the household.  For example: smokenight address
    """
    from scheduler.faces.web.address import new_secret, path_of, secret_made
    from scheduler.faces.web.publishing import FEED
    from scheduler.household.site_file import default_site_path, load_site

    path = site if site is not None else default_site_path()
    load_site(path)
    secret = new_secret(path) if new else secret_made(path)
    url = checked(USUAL_URL if public_url is None else public_url).rstrip("/")
    if new:
        soon = "Within half a minute a running server opens the new address and closes the old one."
        remark(f"A new address: subscribe anew everywhere. {soon}")
    say(f"page      {url}{path_of(secret)}\ncalendar  {url}{path_of(secret, FEED)}")


def _named(sites: list[Path] | None) -> tuple[Path, ...]:
    from scheduler.household.site_file import default_site_path

    return tuple(sites) if sites else (default_site_path(),)


def _listen(host: str, port: int) -> socket.socket:
    """A listening socket; BadSetting where there can be none."""
    try:
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        return socket.create_server((host, port), family=family)
    except OSError as exc:
        reason = (exc.strerror or str(exc)).lower().partition(" (while")[0]  # the address is told already
        raise BadSetting(f"cannot listen at {host} port {port}: {reason}; name others with --host and --port") from exc


def _keeper(named: tuple[Path, ...], shelf: Shelf, journal: Path | None, url: str) -> Keeper:
    """The keeper of this process, with this machine's clock, chance, weather and journal."""
    from random import SystemRandom

    from scheduler.faces.web.cells import Cells
    from scheduler.faces.web.keeper import Keeper
    from scheduler.faces.web.records import opened
    from scheduler.faces.web.sites import Sites

    return Keeper(
        sites=Sites(named),
        shelf=shelf,
        cells=Cells(ask_services, SystemRandom()),
        journal=lambda: opened(journal),
        busy_of=_busy_of,
        clock=lambda: datetime.now(UTC),
        public_url=url,
    )


def ask_services(served: Served, now: datetime) -> Weather:
    """The newest weather of a site, as its file asks for it."""
    return asking.forecasts_of(asking.Flags(served.path, False, None, None), served.site, now)


def _busy_of(served: Served, now: datetime) -> tuple[Span, ...]:
    from scheduler.faces.away import busy_of

    return busy_of(asking.Flags(served.path, False, None, None), served.site, now)
