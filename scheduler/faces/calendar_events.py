"""Which entries a plan makes in a calendar, as plain values.

An entry is known by its batch and step, never by its date, so a plan that moves moves its entries and adds none.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING, Literal
from uuid import UUID, uuid5

from scheduler.faces.calendar_words import clean_line, paragraphs, say_leeway, say_night, say_weights, say_why
from scheduler.faces.drying_words import drying_lines
from scheduler.faces.wording import long_span, when
from scheduler.household.batch import Batch
from scheduler.household.process import ANCHOR, LIFT
from scheduler.science.hazards import DEFERS

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from zoneinfo import ZoneInfo

    from providers.forecast import Credit
    from scheduler.household.process import Step
    from scheduler.household.site import Site
    from scheduler.planning.answers import Plan, PlannedStep, Span

NAMESPACE = UUID("3563173b-86da-46ee-85ba-d1dfcf68cc94")
"""Drawn once for this project; every UID is made in it, so it never changes."""

SHORTEST = timedelta(minutes=5)
"""An event ends after its start (RFC 5545, 3.8.2.2), and a person needs something to see."""

EVENING = time(19)  # common practice, no source
EVENING_BEFORE = ("thaw", "salt")
"""Steps that need room made, or something bought, the day before."""

CHANCE_SLACK, AIR_SLACK_C, LEEWAY_SLACK_H, DRYING_SLACK_H = 0.05, 0.5, 1.0, 3.0
"""How far a figure may drift before an entry says it anew (our judgement): less than a plan would move for."""

TOPIC = "cold-smoking"
"""Category of every entry."""

FIRE = (
    "Fire: local rules come first. Where they forbid leaving a fire alone, or ask for more than this plan"
    " does, follow them."
)
PROMISE = "This plan is made from a forecast. Forecasts change, and it promises nothing."
NOT_ADOPTED = "Nobody has taken this night on yet, so this plan is tentative: `smokenight plan` adopts it."
TENTATIVE = "The night is borderline, so this plan is tentative."


@dataclass(frozen=True, slots=True)
class Alarm:
    """A reminder, tied to the start of its event."""

    uid: str
    before: timedelta
    """How long before the start; zero is at it."""
    text: str


@dataclass(frozen=True, slots=True)
class Figure:
    """A number that a description rests on, and how far it may be off before saying it anew is news."""

    name: str
    value: float | None
    """None for what is not known."""
    slack: float

    def near(self, value: float | None) -> bool:
        """Whether that value says the same."""
        if self.value is None or value is None:
            return self.value is value
        return abs(self.value - value) <= self.slack


@dataclass(frozen=True, slots=True)
class Event:
    """One entry of a calendar; instants in UTC and whole seconds, text without control characters."""

    uid: str
    start: datetime
    end: datetime
    """After the start."""
    summary: str
    description: str
    status: Literal["TENTATIVE", "CONFIRMED", "CANCELLED"]
    transparent: bool
    """Whether the time counts as free."""
    categories: tuple[str, ...]
    stamp: datetime
    """When it last changed."""
    alarms: tuple[Alarm, ...] = ()
    related_to: str | None = None
    """UID of the smoke that it belongs to."""
    sequence: int = 0
    """How often it has been revised."""
    created: datetime | None = None
    """When it was first published; None where nobody keeps a record of that."""
    core: str = ""
    """The part of its description whose words are news: without leeway, which shrinks by the minute, and credit."""
    gist: tuple[Figure, ...] = ()
    """The figures that its description rests on."""
    fleeting: bool = False
    """Whether it may leave a calendar without being cancelled."""


@dataclass(frozen=True, slots=True)
class Moves:
    """How a plan moved last."""

    was: Mapping[str, datetime]
    """When each step was planned for before, by its name."""
    why: tuple[str, ...]
    """In sentences."""


STAYED = Moves({}, ())


def events_of(
    plan: Plan,
    *,
    site: Site,
    stamp: datetime,
    credit: Credit,
    caution_text: Callable[[str], str],
    adopted: bool = True,
    moves: Moves = STAYED,
) -> tuple[Event, ...]:
    """An entry for every step whose time is known, and one for the smoke as a whole, in order of time.

    `stamp` is when the forecast was issued; `caution_text` gives the sentence of a caution's key (what is a
    sentence already, as it is).  Reminders due at or before `stamp`, and those of steps that are done, are left out.
    """
    draft = _Draft(plan, site, _whole_second(stamp), credit, caution_text, adopted, moves)
    events = [draft.step(each, _whole_second(each.at)) for each in plan.steps if each.at is not None]
    span = draft.smoke_span
    if span is not None:
        events.append(draft.smoke(span))
    return tuple(sorted(events, key=lambda event: (event.start, event.end, event.uid)))


def _whole_second(moment: datetime) -> datetime:
    """In UTC, without the fraction that iCalendar cannot write."""
    return moment.astimezone(UTC).replace(microsecond=0)


def uid_of(*names: str) -> str:
    """The same for the same names; as JSON, no two lists of names read alike, and any name can be encoded."""
    return str(uuid5(NAMESPACE, json.dumps(names)))


def _closing(credit: Credit, *, fire: bool) -> list[str]:
    """What every description ends with."""
    link = f" ({credit.link})" if credit.link else ""
    return [*([FIRE] if fire else []), f"Weather: {credit.text}{link}", PROMISE]


def _evening_before(at: datetime, zone: ZoneInfo) -> datetime:
    """The clock's evening on the day before."""
    day = at.astimezone(zone).date() - timedelta(days=1)
    return datetime.combine(day, EVENING, tzinfo=zone).astimezone(UTC)


@dataclass(frozen=True, slots=True)
class _Draft:
    """What the entries of one plan have in common."""

    plan: Plan
    site: Site
    stamp: datetime
    credit: Credit
    caution_text: Callable[[str], str]
    adopted: bool
    """Whether somebody took the night on."""
    moves: Moves

    def step(self, planned: PlannedStep, at: datetime) -> Event:
        """The entry of one step, as long as its hands-on time; busy only where somebody is needed."""
        step = planned.step
        summary = self._summary(step.title)
        return Event(
            uid=self._uid(step.name),
            start=at,
            end=at + max(timedelta(seconds=round(step.hands_on_min * 60)), SHORTEST),
            summary=f"Done: {summary}" if planned.done else summary,
            description=self._done_text(at) if planned.done else self._step_text(planned),
            core="" if planned.done else self._step_core(planned),
            gist=() if planned.done else self._gist(planned),
            status=self._status(done=planned.done),
            transparent=not step.household,
            categories=(TOPIC, step.branch, clean_line(step.name)),
            stamp=self.stamp,
            alarms=() if planned.done else self._alarms(step, at, summary),
            related_to=None if self.smoke_span is None else self._smoke_uid,
        )

    def smoke(self, span: Span) -> Event:
        """The smoke from lighting to lift.

        It counts as free time and does not remind: the household sleeps and lives through it, while lighting,
        checks and lift have entries of their own that are busy and do.
        """
        return Event(
            uid=self._smoke_uid,
            start=span[0],
            end=span[1],
            summary=self._summary("Cold smoke") if not self._lifted else f"Done: {self._summary('Cold smoke')}",
            description=self._smoke_text(span),
            core=self._smoke_core(span),
            gist=() if self._lit else self._gist(None),
            status=self._status(done=self._lit),
            transparent=True,
            categories=(TOPIC, "smoke"),
            stamp=self.stamp,
        )

    @property
    def smoke_span(self) -> Span | None:
        """Lighting and lift, planned or done; None where either time is unknown."""
        light, lift = self._planned(ANCHOR), self._planned(LIFT)
        if light is None or lift is None or light.at is None or lift.at is None or lift.at <= light.at:
            return None
        return _whole_second(light.at), _whole_second(lift.at)

    @property
    def _lit(self) -> bool:
        """Whether the tray is lit."""
        light = self._planned(ANCHOR)
        return light is not None and light.done

    @property
    def _lifted(self) -> bool:
        """Whether the smoke is over."""
        lift = self._planned(LIFT)
        return lift is not None and lift.done

    def _planned(self, name: str) -> PlannedStep | None:
        return next((planned for planned in self.plan.steps if planned.step.name == name), None)

    def _uid(self, *names: str) -> str:
        """By the batch's identity where the journal has one: it stays whatever the batch or the site is called."""
        batch = self.plan.batch
        return uid_of(batch.identity, *names) if batch.identity else uid_of(self.site.name, batch.name, *names)

    @property
    def _smoke_uid(self) -> str:
        """Two names, as no step has."""
        return self._uid(ANCHOR, LIFT)

    def _summary(self, title: str) -> str:
        """The title, and the batch where somebody gave it a name."""
        batch = self.plan.batch.name
        return clean_line(title if batch == Batch().name else f"{title} ({batch})")

    def _status(self, *, done: bool) -> Literal["TENTATIVE", "CONFIRMED"]:
        """What has been done is tentative no longer."""
        return "TENTATIVE" if (self.plan.tentative or not self.adopted) and not done else "CONFIRMED"

    def _alarms(self, step: Step, at: datetime, summary: str) -> tuple[Alarm, ...]:
        """Reminders still ahead: at a step that needs somebody, an hour before lighting, the evening before some."""
        zone = self.site.zone
        wanted = [
            (step.household, "at", timedelta(0), "Now"),
            (step.name == ANCHOR, "hour before", timedelta(hours=1), "In one hour"),
            (step.name in EVENING_BEFORE, "evening before", at - _evening_before(at, zone), "Tomorrow"),
        ]
        return tuple(
            Alarm(self._uid(step.name, "alarm", kind), before, f"{lead}, {when(at, zone)}: {summary}")
            for wants, kind, before, lead in wanted
            if wants and at - before > self.stamp
        )

    def _done_text(self, at: datetime) -> str:
        return paragraphs([f"Done {when(at, self.site.zone)}."], _closing(self.credit, fire=False))

    def _step_text(self, planned: PlannedStep) -> str:
        """All of it, with how much time there is and who says so."""
        words = self._step_core(planned, say_leeway(planned, self.site.zone))
        return paragraphs([words], _closing(self.credit, fire=_burning(planned.step)))

    def _step_core(self, planned: PlannedStep, leeway: str = "") -> str:
        """What to do, why then, what to weigh, what to mind."""
        step, zone = planned.step, self.site.zone
        return paragraphs(
            self._moved(step.name, planned.at),
            [step.note, *planned.notes],
            [self._tentative, leeway, say_why(self.plan, planned, zone)],
            drying_lines(self.plan, step.name, zone),
            [say_weights(self.plan, self.site, step)],
            self._cautions(step.cautions),
        )

    def _smoke_text(self, span: Span) -> str:
        return paragraphs([self._smoke_core(span)], _closing(self.credit, fire=True))

    def _smoke_core(self, span: Span) -> str:
        """From when to when, why that night, and what holds for the whole plan."""
        first, last = (when(moment, self.site.zone) for moment in span)
        length = long_span((span[1] - span[0]) / timedelta(hours=1))
        return paragraphs(
            self._moved(ANCHOR, span[0]),
            [f"From lighting {first} to lift {last}, {length}."],
            [] if self._lit else [self._tentative, say_night(self.plan)],
            [] if self._lit else [say_weights(self.plan, self.site)],
            self._cautions(self.plan.cautions),
        )

    def _moved(self, name: str, at: datetime | None) -> list[str]:
        """Where it was before the plan moved, and why it did."""
        was = self.moves.was.get(name)
        if was is None or at is None or abs(at - was) < timedelta(minutes=1):
            return []
        return [f"Moved from {when(was, self.site.zone)} to {when(at, self.site.zone)}.", *self.moves.why]

    def _gist(self, planned: PlannedStep | None) -> tuple[Figure, ...]:
        """The figures of the night, and of a step's own leeway and drying."""
        night, drying = self.plan.night, self.plan.drying
        found = [Figure("chance", night.chance, CHANCE_SLACK), Figure("peak_c", night.peak_c, AIR_SLACK_C)]
        if planned is not None and planned.leeway is not None:
            found.append(Figure("latest_h", planned.leeway[1].timestamp() / 3600, LEEWAY_SLACK_H))
        if planned is not None and drying is not None and drying.dry is not None and planned.step.branch == "sawdust":
            found.append(Figure("dry_h", drying.dry.timestamp() / 3600, DRYING_SLACK_H))
        return tuple(found)

    @property
    def _tentative(self) -> str:
        if self.plan.tentative:
            return TENTATIVE
        return "" if self.adopted else NOT_ADOPTED

    def _cautions(self, keys: Sequence[str]) -> list[str]:
        """The sentence of each, and whose word comes before them."""
        return [*map(self.caution_text, keys), DEFERS] if keys else []


def _burning(step: Step) -> bool:
    """Whether fire is concerned: from the lighting on, but not with the food once it is lifted out."""
    return not step.before and (step.branch == "sawdust" or step.neighbour != LIFT)
