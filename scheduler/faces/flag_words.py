"""What a person can say, as the terminal takes it: with flags, in place of the plain words that every face has."""

from __future__ import annotations

from scheduler.planning.freezing_words import ASK, FARMED

WEIGHED = "once its weight is known, you get the amounts"

FLAGS = {
    ASK: "Say --frozen-since TIME and --freezer TEMPERATURE (and --freezer-measured if a thermometer says so)",
    FARMED: "Say --farmed only for",
    WEIGHED: "with --weight, such as --weight 1.3kg, you get the amounts",
}


def with_flags(text: str) -> str:
    """The text, its plain words replaced."""
    for words, flags in FLAGS.items():
        text = text.replace(words, flags)
    return text
