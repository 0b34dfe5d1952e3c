"""Any record that the journal takes, for hypothesis."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from typing import Any

from hypothesis import strategies as st

from scheduler.journal import kinds
from scheduler.journal.kinds import SHAPES, Field
from scheduler.journal.record import Kind, Record

SITES = st.sampled_from(["Invented hut", "Hütte im Wald №2 🐟", "\N{HEBREW LETTER ALEF} \\ \" '"])
FIRST, LAST = datetime(1971, 1, 2, tzinfo=UTC), datetime(2198, 12, 30, tzinfo=UTC)
MOMENTS = st.integers(0, (LAST - FIRST) // timedelta(seconds=1)).map(lambda s: FIRST + timedelta(seconds=s))
IDENTITIES = st.uuids(version=4).map(str)
WORDS = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zl", "Zp")), min_size=1, max_size=30
).filter(str.strip)
ZONES = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
TIMES = st.builds(lambda moment, zone: moment.astimezone(zone).isoformat(), MOMENTS, ZONES)
DAYS = st.dates().filter(lambda day: day.year > 999).map(str)


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.one_of(st.floats(low, high), st.integers(int(low) + 1, int(high)))


NIGHT = st.fixed_dictionaries(
    {
        "night": DAYS,
        "light": st.none() | TIMES,
        "lift": st.none() | TIMES,
        "peak_c": st.none() | numbers(-40, 40),
        "chance": st.none() | st.floats(0, 1),
    }
)
BY_TYPE = {
    "text": WORDS,
    "time": TIMES,
    "date": DAYS,
    "true or false": st.booleans(),
    "times by step": st.dictionaries(WORDS, TIMES, max_size=4),
    "list of text": st.lists(WORDS, max_size=3),
    "list of {night, light, lift, peak_c, chance}": st.lists(NIGHT, max_size=2),
    "number": numbers(-1, 1),
    "number, g": numbers(0.001, 1e6),
    "number, °C": numbers(-273.15, 1000),
    "number, 0 to 1": numbers(0, 1),
}
ONE_OF = {"how": kinds.ENDINGS, "where": kinds.PLACES, "verdict": kinds.VERDICTS}


def value(field: Field) -> st.SearchStrategy[Any]:
    drawn = st.sampled_from(ONE_OF[field.name]) if field.name in ONE_OF else BY_TYPE[field.holds]
    return drawn | st.none() if field.optional else drawn


@st.composite
def bodies(draw: st.DrawFn, kind: Kind, undoes: str) -> dict[str, Any]:
    """A body that fits the kind; keys that may be null are left out now and then."""
    if kind is Kind.UNDONE:
        return {"undoes": undoes}
    if kind is Kind.READINGS:
        pairs = draw(st.lists(st.tuples(TIMES, numbers(-40, 100)), min_size=1, max_size=5))
        some = {"times": [time for time, _ in pairs], "c": [c for _, c in pairs]}
        return {"where": draw(st.sampled_from(kinds.PLACES)), "name": draw(WORDS), **some}
    required = {field.name: value(field) for field in SHAPES[kind].fields if not field.optional}
    optional = {field.name: value(field) for field in SHAPES[kind].fields if field.optional}
    return draw(st.fixed_dictionaries(required, optional=optional))


@st.composite
def journals(draw: st.DrawFn, most: int = 12) -> tuple[Record, ...]:
    """Records of one site, each naming only what stands before it; moments are few, so that many are equal."""
    site, hours = draw(SITES), st.integers(0, 5).map(lambda hours: datetime(2026, 10, 17, hours, tzinfo=UTC))
    identities = draw(st.lists(IDENTITIES, max_size=most, unique=True))
    records: list[Record] = []
    batches: list[str] = []
    for identity in identities:
        kind = draw(st.sampled_from(list(Kind)))
        if SHAPES[kind].batch == "one" and not batches:
            kind = Kind.BATCH_OPENED
        if kind is Kind.UNDONE and not records:
            kind = Kind.NOTE
        batch = identity if kind is Kind.BATCH_OPENED else draw(_batch(SHAPES[kind].batch, batches))
        undoes = draw(st.sampled_from(records)).identity if records else ""
        body = draw(bodies(kind, undoes))
        records.append(Record(identity, site, batch, kind, draw(hours | MOMENTS), draw(hours), body))
        if kind is Kind.BATCH_OPENED:
            batches.append(identity)
    return tuple(records)


def _batch(rule: str, batches: list[str]) -> st.SearchStrategy[str | None]:
    if rule == "none" or not batches:
        return st.none()
    some = st.sampled_from(batches)
    return some if rule == "one" else st.none() | some
