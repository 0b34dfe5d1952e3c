"""Wrong process files, by what is wrong: the content, and words that the refusal holds."""

from __future__ import annotations

LIGHT = '[[step]]\nname = "light"\ntitle = "Light"\nhands_on = "10 min"\n'
LIFT = '[[step]]\nname = "lift"\ntitle = "Lift"\nhands_on = "20 min"\ncomes_from = "light"\n'
FREEZE = '[[step]]\nname = "freeze"\ntitle = "Freeze"\nhands_on = "10 min"\nleads_to = "light"\n'
SALT = """\
[[step]]
name = "salt"
title = "Salt"
hands_on = "45 min"
leads_to = "light"
wait = { least = "44 h", usual = "48 h", longest = "60 h" }
during = "salted"
"""
HEAD = 'name = "mine"\ntitle = "Mine"\nfoods = ["salmon"]\n'
CURE = '[cure]\nsalt = "12 %"\nsugar = "12 %"\nloss = "12 %"\n'
PROCESS = HEAD + CURE + SALT + LIGHT + LIFT


def step(name: str, tie: str, *lines: str) -> str:
    """One more step."""
    wait = 'wait = { least = "1 h", usual = "1 h", longest = "1 h" }'
    return "\n".join(["[[step]]", f'name = "{name}"', 'title = "More"', 'hands_on = "5 min"', tie, wait, *lines, ""])


def swap(old: str, new: str) -> str:
    """The process with one thing in it changed."""
    assert PROCESS.count(old) == 1, old
    return PROCESS.replace(old, new)


WRONG_PROCESSES = {
    "empty": ("", ["name: is missing"]),
    "no title": (swap('title = "Mine"\n', ""), ["title: is missing"]),
    "no foods": (swap('foods = ["salmon"]\n', ""), ["foods: is missing"]),
    "foods empty": (swap('["salmon"]', "[]"), ["foods: [] names no food"]),
    "foods a word": (swap('["salmon"]', '"salmon"'), ["foods: 'salmon' is not a list"]),
    "food twice": (swap('["salmon"]', '["salmon", "Salmon"]'), ["foods:", "twice"]),
    "food that forms histamine": (swap("salmon", "mackerel"), ["foods: 'mackerel' is refused", "histamine"]),
    "name of words": (swap('"mine"', '"my own"'), ["name: 'my own'", "hyphens"]),
    "unknown key": (swap('title = "Mine"', 'title = "Mine"\nfood = 1'), ["food: is not known here", "'foods'"]),
    "cure incomplete": (swap('sugar = "12 %"\n', ""), ["[cure] sugar: is missing"]),
    "cure bare": (swap('salt = "12 %"', "salt = 12"), ["[cure] salt: 12 lacks a unit", "'12 %'"]),
    "cure by weight": (swap('salt = "12 %"', 'salt = "12 g"'), ["'12 g' is a weight, the salt wants a share"]),
    "cure over the whole": (swap('sugar = "12 %"', 'sugar = "120 %"'), ["[cure] sugar: '120 %'", "100 %"]),
    "loss of everything": (swap('loss = "12 %"', 'loss = "100 %"'), ["[cure] loss: '100 %' leaves nothing"]),
    "cure with another key": (PROCESS.replace("sugar", "suger"), ["[cure] suger", "did you mean 'sugar'?"]),
    "no steps": (HEAD, ["step: there are no steps", "[[step]]"]),
    "step in one bracket": (HEAD + LIGHT.replace("[[step]]", "[step]"), ["step: is not a list", "two brackets"]),
    "step without name": (swap('name = "salt"\n', ""), ["step number 1 name: is missing"]),
    "step named in words": (swap('"salt"', '"Salt it"'), ["step number 1 name: 'Salt it'", "a-z"]),
    "step named twice": (PROCESS + SALT, ["step salt name: stands 2 times"]),
    "step without title": (swap('title = "Salt"\n', ""), ["step salt title: is missing"]),
    "step without hands-on time": (swap('hands_on = "45 min"\n', ""), ["step salt hands_on: is missing"]),
    "hands-on time bare": (swap('"45 min"', "45"), ["step salt hands_on: 45 lacks a unit"]),
    "hands-on time beyond a day awake": (
        swap('"45 min"', '"16 h 1 min"'),
        ["step salt hands_on: '16 h 1 min'", "16 h"],
    ),
    "hands-on time below zero": (swap('"45 min"', '"-45 min"'), ["step salt hands_on: '-45 min' is below zero"]),
    "step key misspelt": (swap("during", "durring"), ["step salt durring", "did you mean 'during'?"]),
    "leads to nothing": (
        swap('leads_to = "light"', 'leads_to = "ligth"'),
        ["no step 'ligth'", "did you mean 'light'?"],
    ),
    "tied to both": (
        swap('leads_to = "light"', 'leads_to = "light"\ncomes_from = "lift"'),
        ["step salt comes_from: stands beside leads_to = 'light'"],
    ),
    "tied to nothing": (swap('leads_to = "light"\n', ""), ["step salt leads_to: is missing", "all but 'light'"]),
    "light tied": (PROCESS.replace(LIGHT, LIGHT + 'leads_to = "lift"\n'), ["step light leads_to", "leave it out"]),
    "light with a wait": (
        PROCESS.replace(LIGHT, LIGHT + 'wait = { least = "1 h" }\n'),
        ["step light wait: light has none", "leave it out"],
    ),
    "no light": (HEAD + SALT + LIFT, ["no step named 'light'"]),
    "no lift": (HEAD + SALT + LIGHT, ["no step named 'lift'"]),
    "lift with a wait": (
        PROCESS + 'wait = { least = "1 h", usual = "1 h", longest = "1 h" }\n',
        ["step lift wait: lift has none"],
    ),
    "freezing after the lighting": (
        PROCESS + FREEZE.replace("leads_to", "comes_from"),
        ["step freeze comes_from: freezing comes before the lighting"],
    ),
    "freezing with a wait": (
        PROCESS + FREEZE + 'wait = { least = "15 d", usual = "15 d", longest = "60 d" }\n',
        ["step freeze wait: freeze has none"],
    ),
    "lift from another step": (
        swap('comes_from = "light"', 'comes_from = "look"') + step("look", 'comes_from = "light"'),
        ["step lift comes_from: 'look'", 'write comes_from = "light"'],
    ),
    "lift before the lighting": (
        swap('comes_from = "light"', 'leads_to = "light"'),
        ["step lift leads_to: 'light'", 'write comes_from = "light"'],
    ),
    "leads across the lighting": (
        swap('leads_to = "light"', 'leads_to = "lift"'),
        ["step salt leads_to: 'lift' lies after the lighting"],
    ),
    "comes from across the lighting": (
        PROCESS + step("look", 'comes_from = "salt"'),
        ["step look comes_from: 'salt' lies before the lighting"],
    ),
    "circle": (
        swap('leads_to = "light"', 'leads_to = "rinse"') + step("rinse", 'leads_to = "salt"'),
        ["step salt goes round in a circle, salt → rinse → salt"],
    ),
    "step that leads to itself": (
        swap('leads_to = "light"', 'leads_to = "salt"'),
        ["step salt goes round in a circle, salt → salt"],
    ),
    "way into a circle": (
        swap('leads_to = "light"', 'leads_to = "rinse"')
        + step("rinse", 'leads_to = "dry"')
        + step("dry", 'leads_to = "rinse"'),
        ["step salt goes round in a circle, rinse → dry → rinse"],
    ),
    "circle after the lighting": (
        PROCESS + step("look", 'comes_from = "peek"') + step("peek", 'comes_from = "look"'),
        ["step look goes round in a circle, look → peek → look"],
    ),
    "no wait": (
        swap('wait = { least = "44 h", usual = "48 h", longest = "60 h" }\n', ""),
        ["step salt wait: is missing"],
    ),
    "wait as text": (
        swap('{ least = "44 h", usual = "48 h", longest = "60 h" }', '"48 h"'),
        ["step salt wait: '48 h' is not a table", "least ="],
    ),
    "wait incomplete": (swap('usual = "48 h", ', ""), ["step salt wait usual: is missing"]),
    "wait bare": (swap('"44 h"', "44"), ["step salt wait least: 44 lacks a unit"]),
    "wait below zero": (swap('"44 h"', '"-1 h"'), ["step salt wait least: '-1 h' is below zero"]),
    "wait as length": (swap('"44 h"', '"44 m"'), ["'44 m' is a length, a wait wants a duration"]),
    "usual wait under the least": (
        swap('"48 h"', '"43 h"'),
        ["step salt wait: least '44 h', usual '43 h', longest '60 h'"],
    ),
    "longest wait under the usual": (swap('"60 h"', '"47 h"'), ["step salt wait", "longest '47 h'"]),
    "wait of a century": (swap('"60 h"', '"36525 d"'), ["step salt wait longest: '36525 d' is longer than a year"]),
    "wait key misspelt": (swap("longest =", "most ="), ["step salt wait most: is not known here"]),
    "clock as word": (swap('"60 h" }', '"60 h", clock = "yes" }'), ["step salt wait clock: 'yes'", "true nor false"]),
    "portion of nothing": (
        swap('"60 h" }', '"60 h", per_started = "0 kg" }'),
        ["step salt wait per_started: '0 kg'", "'2.3 kg'"],
    ),
    "weather unknown": (
        swap('"60 h" }', '"60 h", weather = "frost" }'),
        ["step salt wait weather: 'frost'", '"drying"'],
    ),
    "drying weather for food": (
        swap('"60 h" }', '"60 h", weather = "drying" }'),
        ['step salt wait: weather = "drying" is for a step of branch = "sawdust"'],
    ),
    "drying weather after the lighting": (
        PROCESS
        + """
[[step]]
name = "later"
title = "Dry more sawdust"
hands_on = "5 min"
comes_from = "light"
branch = "sawdust"
wait = { least = "0 h", usual = "4 d", longest = "10 d", weather = "drying" }
""",
        ['step later wait: weather = "drying" is for a step before the lighting'],
    ),
    "branch unknown": (swap("during", 'branch = "fish"\nduring'), ["step salt branch: 'fish'", '"food" or "sawdust"']),
    "preference unknown": (swap("during", 'prefer = "early"\nduring'), ["step salt prefer: 'early'", '"evening_end"']),
    "household as word": (swap("during", 'household = "no"\nduring'), ["step salt household: 'no'", "true nor false"]),
    "state twice in a step": (
        swap("during", 'after = "salted"\nduring'),
        ["after: 'salted'", "step salt during already"],
    ),
    "state of two steps": (
        PROCESS + step("rinse", 'leads_to = "light"', 'after = "salted"'),
        ["step rinse after: 'salted' is the state of step salt during already"],
    ),
    "state after the lighting": (
        PROCESS + step("look", 'comes_from = "light"', 'during = "smoking"'),
        ["step look during: 'smoking'", "before the lighting"],
    ),
    "skipped for a state there is not": (
        swap("during", 'skip_if = ["salty"]\nduring'),
        ["step salt skip_if: there is no state 'salty'", "did you mean 'salted'?"],
    ),
    "skip_if a word": (swap("during", 'skip_if = "fresh"\nduring'), ["step salt skip_if: 'fresh' is not a list"]),
    "caution unknown": (
        swap("during", 'cautions = ["outdoor"]\nduring'),
        ["step salt cautions: 'outdoor'", "did you mean 'outdoors'?"],
    ),
    "note too long": (swap("during", f'note = "{"a" * 1001}"\nduring'), ["step salt note", "1000 characters"]),
    "note with a control character": (swap("during", 'note = "\\u001b[31m"\nduring'), ["step salt note", "plain text"]),
    "note as list": (swap("during", "note = []\nduring"), ["step salt note: [] is not text"]),
    "not TOML": (HEAD + "[[step]\n", ["line 4: not TOML"]),
    "far too large": (PROCESS + "#" * 300_000, ["larger than 256 kB"]),
}
