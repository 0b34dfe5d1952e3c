"""The site as one process uses it: the food's own limits beside the household's."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from scheduler.errors import BadProcess
from scheduler.household.units import show_temperature

if TYPE_CHECKING:
    from scheduler.household.process import Process
    from scheduler.household.site import Site


def site_for(site: Site, process: Process) -> Site:
    """The site with the lower of both ceilings, and the process's length of smoke; doing it twice changes nothing.

    Raises BadProcess where the process's ceiling is not above the site's floor.
    """
    smoke, limits = process.smoke, site.limits
    if smoke.ceiling_c is not None and smoke.ceiling_c < limits.ceiling_c:
        if smoke.ceiling_c <= limits.floor_c:
            ceiling, floor = (show_temperature(c, site.units) for c in (smoke.ceiling_c, limits.floor_c))
            raise BadProcess(
                f"the process {process.name!r} wants the air at or under {ceiling}, which is not above the site's"
                f" floor of {floor}: lower the floor in the site file"
            )
        site = replace(site, limits=replace(limits, ceiling_c=smoke.ceiling_c))
    if smoke.longest_h is not None:
        site = replace(site, longest_h=min(site.longest_h, smoke.longest_h))
    return site if smoke.duration_h is None else replace(site, duration_h=smoke.duration_h)
