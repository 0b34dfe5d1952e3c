"""The same batch, weather and moment, judged anew at a site with another length of smoke or another tray."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

from scheduler.planning.nights import Search, find_nights
from scheduler.planning.spread import spread_of
from scheduler.planning.warming import warming_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from scheduler.household.site import Site
    from scheduler.planning.answers import Night
    from scheduler.planning.chain import Chain

    Look = Callable[[Site], tuple[Chain, tuple[Night, ...]]]


def looking_again(chain: Chain, search: Search, last: float) -> Look:
    """A function that gives the chain and the nights of such a site; each site is judged once.

    last: no lighting after this instant is looked at.
    """

    @cache
    def look(site: Site) -> tuple[Chain, tuple[Night, ...]]:
        there = replace(chain, site=site)
        warming = warming_of(search.weather, site)
        smokes = there.smokes().between(search.now, last)
        return there, find_nights(Search(site, warming, spread_of(warming.counted), smokes, search.now))

    return look
