"""The overview of all commands, in the order in which a household comes to need them."""

from __future__ import annotations

from typing import Any

from typer.core import TyperGroup

SECTIONS = {
    "To begin": ("setup", "next", "nights", "weather"),
    "A batch, from day to day": ("batch", "plan", "replan", "did", "reading", "note", "undo", "history", "learned"),
    "A calendar, and a page": ("calendar", "serve", "address"),
    "To look up": ("dry", "salt", "cautions"),
    "To keep": ("journal",),
}

FIRST_STEPS = "Without a file or network: smokenight next --sample. For a command's flags: smokenight next --help"


class Overview(TyperGroup):
    """Commands under headings; typer's own types of a context and a formatter have no public names."""

    def list_commands(self, ctx: Any) -> list[str]:
        """All commands, section by section; what stands in none comes last."""
        told = [name for names in SECTIONS.values() for name in names if name in self.commands]
        return [*told, *(name for name in super().list_commands(ctx) if name not in told)]

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Each section with its commands, and one line of what each does."""
        names = self.list_commands(ctx)
        limit = formatter.width - 6 - max(map(len, names))
        for title, within in SECTIONS.items():
            with formatter.section(title):
                formatter.write_dl([(name, self.commands[name].get_short_help_str(limit)) for name in within])
