"""What every command is told of freezing against parasites, from flags to the batch's record."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING

from scheduler.errors import BadSetting

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from scheduler.household.batch import Batch
    from scheduler.household.site import Site

COLDEST_C, WARMEST_C = -90.0, 0.0
"""What a freezer holds; -86 °C is a laboratory's (our judgement)."""

SAMPLE_FROZEN = timedelta(days=30)
SAMPLE_FREEZER_C = -20.0


@dataclass(frozen=True, slots=True)
class FreezingFlags:
    """What was said of the freezing."""

    since: str | None = None
    freezer: str | None = None
    measured: bool = False
    eu_rule: bool = False
    farmed: bool = False


def with_rule(site: Site, said: FreezingFlags) -> Site:
    """The site with the rule that was asked for."""
    return replace(site, parasite_rule="eu") if said.eu_rule else site


def with_record(
    batch: Batch, said: FreezingFlags, now: datetime, read: Callable[[str, str], datetime], *, sample: bool
) -> Batch:
    """The batch with its freezing record; `read` takes a moment and the flag it stands behind.

    Raises BadSetting for what is no freezer's temperature, and for a measurement of nothing.
    """
    from scheduler.household.toml_file import within
    from scheduler.household.units import parse_temperature_c

    usual = sample_record(batch, now) if sample else batch
    if said.measured and said.freezer is None and usual.freezer_c is None:
        raise BadSetting('--freezer-measured needs what was measured: add --freezer, such as --freezer "-20 C"')
    freezer_c, measured = usual.freezer_c, usual.freezer_measured or said.measured
    if said.freezer is not None:
        problem = "is no freezer's temperature, -90 °C to 0 °C: such as '-20 C' or '0 F'"
        parse = within(partial(parse_temperature_c, what="the freezer"), COLDEST_C, WARMEST_C, problem)
        try:
            freezer_c, measured = parse(said.freezer), said.measured
        except BadSetting as exc:
            raise BadSetting(f"--freezer: {exc}") from exc
    return replace(
        batch,
        frozen_since=usual.frozen_since if said.since is None else read(said.since, "--frozen-since"),
        freezer_c=freezer_c,
        freezer_measured=measured,
        farmed=said.farmed,
    )


def sample_record(batch: Batch, now: datetime) -> Batch:
    """The invented batch's record, which meets the Food Code's first rule; fresh fish has only the freezer."""
    since = None if batch.state == "fresh" else now - SAMPLE_FROZEN
    return replace(batch, frozen_since=since, freezer_c=SAMPLE_FREEZER_C, freezer_measured=True)
