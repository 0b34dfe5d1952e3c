"""Which step of a process a person means: by its name, or by its past form ("salted", "lit", "laid out")."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.errors import BadSetting
from scheduler.faces.wording import listed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scheduler.household.process import Process, Step

RELIT = "relit"

IRREGULAR = {
    "freeze": ("frozen", "froze"),
    "light": ("lit",),
    "spread": ("spread",),
    "lay": ("laid",),
    "burn": ("burnt",),
    "eat": ("eaten", "ate"),
    "hang": ("hung",),
    "cut": ("cut",),
    "put": ("put",),
    "set": ("set",),
    "take": ("taken", "took"),
    "first": ("first",),
    "last": ("last",),
}
"""Past forms that no rule gives, and words that have none."""

SHORTER = {"burn_out": frozenset(("burnt", "out")), "eat_by": frozenset(("eaten", "ate"))}
"""What people say of a step whose name says more."""


def step_meant(process: Process, given: str) -> Step:
    """The step; BadSetting for a word that may mean two things, and for one that means nothing here."""
    word = "_".join(given.lower().replace("-", " ").replace("_", " ").split())
    for step in process.steps:
        if word == step.name:
            return step
    found = [step for step in process.steps if word in past_forms(step.name)]
    if len(found) > 1:
        raise BadSetting(f"{given!r} may be {listed(repr(step.name) for step in found)}: say one of them")
    if found:
        _refuse_both_ends(found[0], given)
        return found[0]
    checks = [step.name for step in process.steps if step.name.endswith("_check")]
    if word in ("check", "checked") and checks:
        raise BadSetting(f"{given!r} may be {listed(map(repr, checks))}: say one of them")
    raise BadSetting(_unknown(process, given, word))


def _refuse_both_ends(step: Step, given: str) -> None:
    """Fish that is "thawed" may have gone into the fridge to thaw, or have come through it."""
    if step.after is None or step.after not in past_forms(step.name):
        return
    raise BadSetting(
        f"{given!r} may say that “{step.title}” was done, or that it is through: for the first,"
        f" `smokenight did {step.name} --at TIME`; the second needs no record, its time is reckoned from the first"
    )


def past_forms(name: str) -> frozenset[str]:
    """Past forms of a step's name, whose first word is what is done."""
    verb, _, rest = name.partition("_")
    tail = f"_{rest}" if rest else ""
    forms = {f"{past}{tail}" for past in _pasts(verb)}
    return frozenset(forms | SHORTER.get(name, frozenset()))


def _pasts(verb: str) -> Iterator[str]:
    """What becomes of a verb: its irregular forms, else by the rules of spelling."""
    if verb in IRREGULAR:
        yield from IRREGULAR[verb]
    elif verb.endswith("e"):
        yield f"{verb}d"
    elif verb.endswith("y") and verb[-2:-1] not in tuple("aeiou"):
        yield f"{verb[:-1]}ied"
    else:
        yield f"{verb}ed"
        yield f"{verb}{verb[-1:]}ed"  # wrapped, stirred; which of the two depends on how it is spoken


def _unknown(process: Process, given: str, word: str) -> str:
    """Nothing of that name: the nearest, or all there are."""
    from scheduler.household.toml_file import did_you_mean

    names = [step.name for step in process.steps]
    by_form = {form: step.name for step in process.steps for form in (step.name, *past_forms(step.name))}
    near = did_you_mean(word, [*by_form, RELIT])
    if near.startswith("known are"):
        near = f"its steps are: {', '.join(names)}; and {RELIT}"
    return f"{given!r} is no step of the process {process.name!r}; {near}"
