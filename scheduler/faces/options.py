"""The options that several commands share, each as the type of a parameter."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from scheduler.faces.away import FLAG, LIKE_DAYS
from scheduler.faces.completion import open_batches

Text = str | None

# --- the question

SiteFile = Annotated[Path | None, typer.Option("--site", help="Site file; else the one that `setup` made.")]
Sample = Annotated[bool, typer.Option("--sample", help="An invented site and invented weather: no file, no network.")]
Weather = Annotated[
    Text, typer.Option("--weather", help="open-meteo, us-nws, met-norway, sample, or a table (FILE.csv).")
]
Now = Annotated[Text, typer.Option("--now", help="The moment to answer for, such as 2026-10-17T14:00; else this one.")]
ProcessFile = Annotated[Path | None, typer.Option("--process", help="A process file of your own.")]
Away = Annotated[
    list[str] | None,
    typer.Option(
        FLAG, help=f"Nobody is at home: {LIKE_DAYS} (whole days), one day, or times; may be given several times."
    ),
]
JournalFile = Annotated[Path | None, typer.Option("--journal", help="The journal; else the household's own.")]
Json = Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")]

# --- a batch that is described

Food = Annotated[
    Text, typer.Option("--food", help="salmon (default), trout, cheese, salt, or a food of your own process.")
]
Fish = Annotated[
    Text,
    typer.Option(
        "--fish",
        help="Where the fish is: frozen (default), fresh, thawing, thawed, salted or rinsed; cheese and salt: ready.",
    ),
]
Since = Annotated[Text, typer.Option("--since", help="Since when the fish is in that state.")]
Weight = Annotated[Text, typer.Option("--weight", help='Weight of the fish, such as "1.3 kg" or "3 lb".')]
LargestPack = Annotated[Text, typer.Option("--largest-pack", help="Weight of the largest piece to thaw.")]
Sawdust = Annotated[Text, typer.Option("--sawdust", help="dry, soaking, drying or none; else by the site's store.")]
SawdustSince = Annotated[Text, typer.Option("--sawdust-since", help="Since when the sawdust soaks or dries.")]
FrozenSince = Annotated[
    Text, typer.Option("--frozen-since", help="Since when the fish has been in the freezer, up to its thaw.")
]
Freezer = Annotated[
    Text, typer.Option("--freezer", help='The warmest that freezer was meanwhile, such as "-20 C" or "0 F".')
]
FreezerMeasured = Annotated[
    bool, typer.Option("--freezer-measured", help="A thermometer says so, not the freezer's label.")
]
EuRule = Annotated[
    bool, typer.Option("--eu-rule", help="Freezing by EU 853/2004 instead of the Food Code; else as the site says.")
]
Farmed = Annotated[
    bool,
    typer.Option(
        "--farmed",
        help="You know it was farmed on formulated feed: exempt from freezing, Food Code 3-402.11(B).",
    ),
]

# --- a batch of the journal

Batch = Annotated[
    Text,
    typer.Option(
        "--batch",
        help="Name of the batch; needed only where several are open.",
        metavar="NAME",
        autocompletion=open_batches,
    ),
]
At = Annotated[Text, typer.Option("--at", help="When it was, such as 2026-10-17T14:00; else now.")]
