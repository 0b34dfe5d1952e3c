"""The entry: so small that nothing can be interrupted before somebody takes care of it."""

from __future__ import annotations

from scheduler.faces.exit_codes import STOPPED


def main() -> None:
    """Load the command line and run it; ^C ends it quietly, even while it is being loaded."""
    try:
        from scheduler.faces.commands import run

        run()
    except KeyboardInterrupt:
        raise SystemExit(STOPPED) from None
