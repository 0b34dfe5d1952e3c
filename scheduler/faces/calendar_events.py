"""Which entries a plan makes in a calendar, as plain values.

An entry is known by its batch and step, never by its date, so a plan that moves moves its entries and adds none.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING, Literal

from scheduler.faces.calendar_event import SHORTEST, TOPIC, Alarm, Event, Figure, uid_of, whole_second
from scheduler.faces.calendar_words import clean_line, loose, paragraphs, say_leeway, say_night, say_weights, say_why
from scheduler.faces.called_off import NO_GO, off_words
from scheduler.faces.drying_words import drying_lines
from scheduler.faces.wording import long_span, when
from scheduler.household.batch import Batch
from scheduler.household.process import ANCHOR, LIFT
from scheduler.planning.clock import HOUR_S
from scheduler.science.hazards import DEFERS

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from zoneinfo import ZoneInfo

    from providers.forecast import Credit
    from scheduler.household.process import Step
    from scheduler.household.site import Site
    from scheduler.planning.answers import Plan, PlannedStep, Span

EVENING = time(19)  # common practice, no source
EVENING_BEFORE = ("thaw", "salt")
"""Steps that need room made, or something bought, the day before."""

CHANCE_SLACK, AIR_SLACK_C, LEEWAY_SLACK_H, DRYING_SLACK_H = 0.05, 1.0, 1.0, 3.0
"""How far a figure may drift before an entry says it anew (our judgement): less than a plan would move for."""

FIRE = "Where your local rules forbid leaving a fire alone, or ask for more than this plan does, follow them."
PROMISE = "This plan is made from a forecast. Forecasts change, and it promises nothing."
NOT_ADOPTED = "Nobody has taken this night on yet, so this plan is tentative:"
MAYBE = "Maybe: "
"""Before the names of its steps, as some calendar programs show nothing of a status."""
TENTATIVE = "The night is borderline, so this plan is tentative."


@dataclass(frozen=True, slots=True)
class News:
    """What the steps still ahead say first."""

    was: Mapping[str, datetime] = field(default_factory=dict)
    """When each step was planned for before the plan moved last, by its name."""
    why: tuple[str, ...] = ()
    """Why it moved, in sentences, as they were true then:"""
    then: datetime | None = None
    notice: str = ""
    """What stands against the plan, in sentences; it is tentative then."""
    off: str = ""
    """Before the names of steps that are not to be done (see `called_off`): free time, and silent."""


NONE = News()


def events_of(
    plan: Plan,
    *,
    site: Site,
    stamp: datetime,
    credit: Credit,
    caution_text: Callable[[str], str],
    adopted: bool = True,
    news: News = NONE,
) -> tuple[Event, ...]:
    """An entry for every step whose time is known, and one for the smoke as a whole, in order of time.

    `stamp` is when the forecast was issued; `caution_text` gives the sentence of a caution's key (what is a
    sentence already, as it is).  Reminders due at or before `stamp`, and those of steps that are done, are left out.
    """
    draft = _Draft(plan, site, whole_second(stamp), credit, caution_text, adopted, news)
    events = [draft.step(each, whole_second(each.at)) for each in plan.steps if each.at is not None]
    span = draft.smoke_span
    if span is not None:
        events.append(draft.smoke(span))
    return tuple(sorted(events, key=lambda event: (event.start, event.end, event.uid)))


def not_adopted(batch: Batch) -> str:
    """That nobody did, and how to; only what the journal follows can have a plan."""
    if batch.identity is None:
        return f"{NOT_ADOPTED} `smokenight batch new` opens a batch, `smokenight plan` adopts a night for it."
    return f"{NOT_ADOPTED} `smokenight plan` adopts it."


def _closing(credit: Credit, *, fire: bool) -> list[str]:
    """What every description ends with."""
    link = f" ({credit.link})" if credit.link else ""
    return [*([FIRE] if fire else []), f"{credit.text}{link}", PROMISE]


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
    news: News

    def step(self, planned: PlannedStep, at: datetime) -> Event:
        """The entry of one step, as long as its hands-on time; busy only where somebody is needed."""
        step, off = planned.step, self._off(planned)
        summary = self._summary(step.title if planned.done else f"{off}{self._maybe}{step.title}")
        return Event(
            uid=self._uid(step.name),
            start=at,
            end=at + max(timedelta(seconds=round(step.hands_on_min * 60)), SHORTEST),
            summary=f"Done: {summary}" if planned.done else summary,
            description=self._done_words(at) if planned.done else self._step_text(planned),
            core=self._done_words(at) if planned.done else self._step_words(planned, core=True),
            gist=() if planned.done else self._gist(planned),
            status=self._status(done=planned.done),
            transparent=not step.household or bool(off),
            categories=(TOPIC, step.branch, clean_line(step.name)),
            stamp=self.stamp,
            alarms=() if planned.done or off else self._alarms(step, at, summary),
            related_to=None if self.smoke_span is None else self._smoke_uid,
        )

    def smoke(self, span: Span) -> Event:
        """The smoke from lighting to lift.

        It counts as free time and does not remind: the household sleeps and lives through it, while lighting,
        checks and lift have entries of their own that are busy and do.
        """
        off = NO_GO if self.news.off == NO_GO else ""
        ahead = f"{off}{'' if self._lit else self._maybe}Cold smoke"
        return Event(
            uid=self._smoke_uid,
            start=span[0],
            end=span[1],
            summary=f"Done: {self._summary('Cold smoke')}" if self._lifted else self._summary(ahead),
            description=self._smoke_text(span),
            core=self._smoke_words(span, core=True),
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
        return whole_second(light.at), whole_second(lift.at)

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

    def _off(self, planned: PlannedStep) -> str:
        """What stands before its name where it is not to be done."""
        return "" if planned.done or not self.news.off else off_words(planned.step, self.news.off)

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
        doubtful = self.plan.tentative or bool(self.news.notice) or not self.adopted
        return "TENTATIVE" if doubtful and not done else "CONFIRMED"

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

    def _done_words(self, at: datetime) -> str:
        return f"Done {when(at, self.site.zone)}."

    def _step_text(self, planned: PlannedStep) -> str:
        """All of it, and who says so."""
        return paragraphs([self._step_words(planned)], _closing(self.credit, fire=_burning(planned.step)))

    def _step_words(self, planned: PlannedStep, *, core: bool = False) -> str:
        """What is new, what to do, what to weigh, why then, what to mind; core: only what would be news."""
        step, zone = planned.step, self.site.zone
        mild = map(loose, planned.notes) if core else planned.notes
        drying = drying_lines(self.plan, step.name, zone)
        night = step.neighbour is None
        why = say_why(self.plan, planned, zone)
        return paragraphs(
            self._first(step.name, planned.at, core=core),
            [step.note, *mild],
            [say_weights(self.plan, self.site, step)],
            ["" if core or self._off(planned) else say_leeway(planned, zone), loose(why) if core and night else why],
            map(loose, drying) if core else drying,
            self._cautions(step.cautions),
        )

    def _smoke_text(self, span: Span) -> str:
        return paragraphs([self._smoke_words(span)], _closing(self.credit, fire=True))

    def _smoke_words(self, span: Span, *, core: bool = False) -> str:
        """From when to when, why that night, and what holds for the whole plan; core: only what would be news."""
        first, last = (when(moment, self.site.zone) for moment in span)
        length = long_span((span[1] - span[0]) / timedelta(hours=1))
        night = say_night(self.plan)
        return paragraphs(
            [] if self._lifted else self._first(ANCHOR if not self._lit else LIFT, span[self._lit], core=core),
            [f"From lighting {first} to lift {last}, {length}."],
            [] if self._lit else [loose(night) if core else night],
            [] if self._lit else [say_weights(self.plan, self.site)],
            self._cautions(self.plan.cautions),
        )

    def _first(self, name: str, at: datetime | None, *, core: bool) -> list[str]:
        """What stands against it, where it was before the plan moved and why it did; or why it is tentative."""
        was, zone = self.news.was.get(name), self.site.zone
        still = was is None or at is None or abs(at - was) < timedelta(minutes=1)
        moved = [] if still or was is None or at is None else [f"Moved from {when(was, zone)} to {when(at, zone)}."]
        then = "" if self.news.then is None else f"Why, as it was on {when(self.news.then, zone)}: "
        why = [f"{then}{' '.join(self.news.why)}"] if moved and self.news.why else []
        notice = loose(self.news.notice) if core else self.news.notice
        return [notice, *moved, *why, "" if notice or self._lit else self._tentative]

    def _gist(self, planned: PlannedStep | None) -> tuple[Figure, ...]:
        """The figures of the night, and of a step's own leeway and drying."""
        night, drying = self.plan.night, self.plan.drying
        found = [Figure("chance", night.chance, CHANCE_SLACK), Figure("peak_c", night.peak_c, AIR_SLACK_C)]
        if planned is not None and planned.spans and not self._off(planned):
            _, last = planned.leeway or planned.spans[-1]
            found.append(Figure("latest_h", last.timestamp() / HOUR_S, LEEWAY_SLACK_H))
        if planned is not None and drying is not None and drying.dry is not None and planned.step.branch == "sawdust":
            found.append(Figure("dry_h", drying.dry.timestamp() / HOUR_S, DRYING_SLACK_H))
        return tuple(found)

    @property
    def _maybe(self) -> str:
        return "" if self.adopted else MAYBE

    @property
    def _tentative(self) -> str:
        if self.plan.tentative:
            return TENTATIVE
        return "" if self.adopted else not_adopted(self.plan.batch)

    def _cautions(self, keys: Sequence[str]) -> list[str]:
        """The sentence of each, and whose word comes before them."""
        return [*(f"• {self.caution_text(key)}" for key in keys), DEFERS] if keys else []


def _burning(step: Step) -> bool:
    """Whether fire is concerned: from the lighting on, but not with the food once it is lifted out."""
    return not step.before and (step.branch == "sawdust" or step.neighbour != LIFT)
