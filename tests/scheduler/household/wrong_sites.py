"""Wrong site files, by what is wrong: the content, and words that the refusal holds."""

from __future__ import annotations

SITE = """\
[site]
name = "invented garden"
latitude = 51.25
longitude = -0.5
zone = "Europe/London"
"""


def without(key: str) -> str:
    """The smallest site file, one key left out."""
    return "".join(line for line in SITE.splitlines(keepends=True) if not line.startswith(key))


def instead(line: str) -> str:
    """The smallest site file, one of its lines replaced."""
    key = line.split()[0]
    return without(key) + line + "\n"


def more(section: str, *lines: str) -> str:
    """The smallest site file and one more section."""
    return "\n".join([f"{SITE}[{section}]", *lines, ""])


WRONG_SITES = {
    "empty": ("", ["[site] name: is missing", 'name = "our garden"']),
    "no name": (without("name"), ["[site] name: is missing"]),
    "no latitude": (without("latitude"), ["[site] latitude: is missing", "north positive"]),
    "no longitude": (without("longitude"), ["[site] longitude: is missing", "east positive"]),
    "no zone": (without("zone"), ["[site] zone: is missing", "America/New_York"]),
    "name of blanks": (instead('name = "  "'), ["[site] name", "one line of text"]),
    "name of two lines": (instead('name = "a\\nb"'), ["[site] name", "'a\\nb'", "one line"]),
    "name as number": (instead("name = 7"), ["[site] name: 7 is not text", "quotes"]),
    "latitude too far": (instead("latitude = 91"), ["[site] latitude: 91", "-90 to 90"]),
    "longitude too far": (instead("longitude = 180.5"), ["[site] longitude: 180.5", "-180 to 180"]),
    "latitude and longitude swapped": (
        SITE.replace("51.25", "-120.5").replace("-0.5", "51.25"),
        ["[site] latitude: -120.5", "-90 to 90"],
    ),
    "latitude as text": (instead('latitude = "51.25"'), ["[site] latitude: '51.25' is text", "without quotes"]),
    "latitude as truth": (instead("latitude = true"), ["[site] latitude: true is not a number"]),
    "latitude not a number": (instead("latitude = nan"), ["[site] latitude: nan is not a finite number"]),
    "longitude without end": (instead("longitude = -inf"), ["[site] longitude: -inf is not a finite number"]),
    "latitude of hundreds of digits": (instead("latitude = 1" + "0" * 400), ["[site] latitude", "finite"]),
    "latitude of thousands of digits": (instead("latitude = 1" + "0" * 5000), ["beyond all measure"]),
    "latitude of thousands of hexadecimals": (instead("latitude = 0x1" + "0" * 5000), ["[site] latitude", "finite"]),
    "elevation bare": (SITE + "elevation = 213\n", ["[site] elevation: 213 lacks a unit", "'213 m' or '700 ft'"]),
    "elevation impossible": (SITE + 'elevation = "30000 ft"\n', ["[site] elevation: '30000 ft'", "-430 m to 9000 m"]),
    "elevation under the lowest shore": (SITE + 'elevation = "-450 m"\n', ["[site] elevation: '-450 m'", "-430 m"]),
    "elevation as speed": (
        SITE + 'elevation = "8 m/s"\n',
        ["'8 m/s' is a speed", "the site's height above the sea wants a length such as '213 m'"],
    ),
    "zone unknown": (instead('zone = "Europe/Londn"'), ["[site] zone: 'Europe/Londn'", '"Europe/London"']),
    "zone by place": (instead('zone = "New York"'), ["[site] zone: 'New York'", '"America/New_York"']),
    "zone in lower case": (instead('zone = "asia/kathmandu"'), ['did you mean "Asia/Kathmandu"?']),
    "zone like nothing": (instead('zone = "qqqqqqqq"'), ["'qqqqqqqq'", 'such as "America/New_York"']),
    "zone a folder": (instead('zone = "America"'), ["[site] zone: 'America' is not a known time zone"]),
    "zone outside": (instead('zone = "../../etc/passwd"'), ["[site] zone", "not a known time zone"]),
    "zone absolute": (instead('zone = "/etc/localtime"'), ["[site] zone", "not a known time zone"]),
    "zone of the machine": (instead('zone = "Factory"'), ["[site] zone: 'Factory' is not the zone of a place"]),
    "units unknown": (SITE + 'units = "imperial"\n', ["[site] units: 'imperial'", '"metric" or "us"']),
    "shelter as word": (more("shelter", 'rain = "yes"'), ["[shelter] rain: 'yes'", "true nor false"]),
    "shelter as number": (more("shelter", "sun = 1"), ["[shelter] sun: 1 is neither true nor false"]),
    "hours on a 12-hour clock": (more("household", 'hours = "6 am - 10 pm"'), ["[household] hours", "24 hours"]),
    "hours past the end": (more("household", 'hours = "06:30-24:01"'), ["[household] hours: '06:30-24:01'", "24:00"]),
    "hours that start at 24": (more("household", 'hours = "24:00-06:00"'), ["[household] hours", "00:00 to 23:59"]),
    "minutes past 59": (more("household", 'hours = "06:60-22:30"'), ["[household] hours: '06:60-22:30'"]),
    "hours without length": (more("household", 'hours = "22:00-22:00"'), ["no length", '"00:00-24:00"']),
    "hours as numbers": (
        more("household", "hours = [6, 22]"),
        ["[household] hours: 6 is not a stretch", '"06:30-22:30"'],
    ),
    "hours as a time": (more("household", "hours = 06:30:00"), ["[household] hours: 06:30:00", '"06:30-22:30"']),
    "no hours in a list": (more("household", "monday = []"), ["[household] monday: an empty list", '"away"']),
    "always away": (more("household", 'hours = "away"'), ["[household] hours", "at home on one day at least"]),
    "weekday misspelt": (more("household", 'wensday = "away"'), ["[household] wensday", "did you mean 'wednesday'?"]),
    "lighting when nobody is at home": (
        more("household", 'hours = "06:00-12:00"', 'lighting = "18:00-22:00"'),
        ['[household] lighting: "18:00-22:00" is outside of the household\'s hours', "overlap"],
    ),
    "usual lighting when nobody is at home": (
        more("household", 'hours = "06:00-12:00"'),
        ['[household] lighting: "16:00-22:00"', "overlap"],
    ),
    "lighting away": (more("household", 'lighting = "away"'), ["[household] lighting: 'away' is not a stretch"]),
    "ceiling bare": (more("limits", "ceiling = 60"), ["[limits] ceiling: 60 may be °F or °C", "with its unit"]),
    "ceiling bare in quotes": (more("limits", 'ceiling = "60"'), ["[limits] ceiling: '60' may be °F or °C"]),
    "ceiling in kelvin": (more("limits", 'ceiling = "288.7 K"'), ["[limits] ceiling", "kelvin"]),
    "ceiling over the chamber's": (
        more("limits", 'ceiling = "90.1 F"'),
        ["[limits] ceiling: '90.1 F'", "90 F (32.2 °C)"],
    ),
    "ceiling meant in Fahrenheit": (more("limits", 'ceiling = "60 C"'), ["[limits] ceiling: '60 C'", "90 F (32.2 °C)"]),
    "ceiling at the floor": (
        more("limits", 'ceiling = "40 F"', 'floor = "40 F"'),
        ["[limits] ceiling: 40.0 °F (4.4 °C) is not above the floor, 40.0 °F (4.4 °C)"],
    ),
    "ceiling under the usual floor": (
        more("limits", 'ceiling = "-5 C"'),
        ["[limits] ceiling", "floor, 28.0 °F (-2.2 °C)"],
    ),
    "floor below absolute zero": (more("limits", 'floor = "-300 C"'), ["[limits] floor", "absolute zero"]),
    "rain as depth": (more("limits", 'rain = "2 %"'), ["[limits] rain", "the rain limit wants a rain rate such as"]),
    "gust as number": (more("limits", "gust = 10"), ["[limits] gust: 10 lacks a unit", "'8 m/s' or '20 mph'"]),
    "gust below zero": (more("limits", 'gust = "-1 m/s"'), ["[limits] gust: '-1 m/s' is below zero"]),
    "smoke too short": (more("smoke", 'duration = "7 h 59 min"'), ["[smoke] duration: '7 h 59 min'", "8 h to 18 h"]),
    "smoke too long": (more("smoke", 'duration = "1 d"'), ["[smoke] duration: '1 d'", "8 h to 18 h"]),
    "smoke bare": (more("smoke", "duration = 12"), ["[smoke] duration: 12 lacks a unit", "'12 h'"]),
    "smoke in metres": (more("smoke", 'duration = "720 m"'), ["'720 m' is a length", "the smoke's duration wants"]),
    "chance in a hundred": (more("verdict", "good = 80"), ["[verdict] good: 80 is over 1", "write 0.80"]),
    "chance below zero": (more("verdict", "borderline = -0.1"), ["[verdict] borderline: -0.1 is not a chance"]),
    "chance over a hundred": (more("verdict", "good = 101"), ["[verdict] good: 101 is not a chance", "0.80"]),
    "chance as text": (more("verdict", 'good = "80 %"'), ["[verdict] good: '80 %' is text", "without quotes"]),
    "chance as truth": (more("verdict", "good = true"), ["[verdict] good: true is not a number"]),
    "borderline at good": (
        more("verdict", "good = 0.7", "borderline = 0.7"),
        ["[verdict] borderline: 0.7 is not below good = 0.7"],
    ),
    "good under the usual borderline": (
        more("verdict", "good = 0.5"),
        ["[verdict] borderline: 0.55 is not below good"],
    ),
    "gain in a hundred": (more("replan", "gain = 15"), ["[replan] gain: 15 is over 1", "write 0.15"]),
    "gain twice over gain": (
        more("replan", "gain_twice = 0.2"),
        ["[replan] gain_twice: 0.20 is over gain = 0.15: lower it, or raise gain"],
    ),
    "gain under the usual gain twice": (more("replan", "gain = 0.05"), ["gain_twice: 0.10 is over gain = 0.05"]),
    "committed easier than tentative": (
        more("replan", "gain_committed = 0.05"),
        ["[replan] gain_twice: 0.10 is over gain_committed = 0.05"],
    ),
    "must move over borderline": (
        more("replan", "must_below = 0.6"),
        ["[replan] must_below: 0.60 is over [verdict] borderline = 0.55", "as soon as it is made"],
    ),
    "lock without a unit": (more("replan", "lock = 24"), ["[replan] lock: 24 lacks a unit", "'12 h'"]),
    "lock of a month": (more("replan", 'lock = "30 d"'), ["[replan] lock: '30 d' is not a time of 0 h to 14 d"]),
    "ignore of a day": (more("replan", 'ignore = "1 d"'), ["[replan] ignore: '1 d' is not a shift of 0 min to 12 h"]),
    "ignore more than once committed": (
        more("replan", 'ignore = "90 min"'),
        ['[replan] ignore: "90 min" is over ignore_committed = "60 min"'],
    ),
    "slack of the floor without a unit": (more("replan", "floor_slack = 1"), ["[replan] floor_slack: 1 lacks a unit"]),
    "slack of the floor that is no floor": (
        more("replan", 'floor_slack = "20 F"'),
        ["[replan] floor_slack: '20 F' is not a slack of 0 C to 5 C: such as '1 C'"],
    ),
    "begin in per cent": (more("replan", "begin = 65"), ["[replan] begin"]),
    "replan key misspelt": (
        more("replan", "must_bellow = 0.3"),
        ["[replan] must_bellow", "did you mean 'must_below'?"],
    ),
    "no calendar in the list": (more("household", "busy = []"), ["[household] busy: an empty list", '"family.ics"']),
    "calendar as number": (more("household", "busy = 7"), ["[household] busy: 7 is not text"]),
    "calendar twice": (more("household", 'busy = ["a.ics", "a.ics"]'), ["holds an entry twice"]),
    "calendar by another way": (
        more("household", 'busy = "ftp://calendar.example/a"'),
        ["[household] busy: a calendar is not fetched by 'ftp://': write https://"],
    ),
    "address with a blank": (
        more("household", 'busy = "https://calendar.example/a b"'),
        ["[household] busy: an address is 1 to 2000 plain characters without blanks"],
    ),
    "chamber full of air": (more("chamber", 'holds = "0 g"'), ["[chamber] holds: '0 g' is not what a chamber holds"]),
    "chamber of straw": (more("chamber", 'material = "straw"'), ["'straw'", '"metal" or "wood" or "cardboard"']),
    "chamber of nothing": (more("chamber", 'volume = "0 l"'), ["[chamber] volume: '0 l'", "'200 l'"]),
    "rise without a unit": (more("chamber", "rise = 4"), ["[chamber] rise: 4 lacks a unit", "'4 C'"]),
    "rise below zero": (more("chamber", 'rise = "-4 C"'), ["'-4 C' is below zero"]),
    "rise of a stove": (more("chamber", 'rise = "80 F"'), ["[chamber] rise: '80 F' is not what a cold fire adds"]),
    "chamber as length": (
        more("chamber", 'volume = "2 m"'),
        ["'2 m' is a length", "the chamber's volume wants a volume"],
    ),
    "tray in degrees": (
        more("tray", 'holds = "60 F"'),
        ["[tray] holds: '60 F' is a temperature, the tray's filling wants a weight such as '450 g'"],
    ),
    "tray empty": (more("tray", 'holds = "0 g"'), ["[tray] holds: '0 g'", "'450 g'"]),
    "tray below zero": (more("tray", 'holds = "-450 g"'), ["[tray] holds: '-450 g' is below zero"]),
    "tray of half a ton": (more("tray", 'holds = "450 kg"'), ["[tray] holds: '450 kg'", "20 kg"]),
    "three fronts": (more("tray", "fronts = 3"), ["[tray] fronts: 3", "1 or 2"]),
    "fronts as truth": (more("tray", "fronts = true"), ["[tray] fronts: true", "1 or 2"]),
    "fronts as fraction": (more("tray", "fronts = 1.5"), ["[tray] fronts: 1.5", "1 or 2"]),
    "store below zero": (more("sawdust", 'store = "-1 kg"'), ["[sawdust] store: '-1 kg' is below zero"]),
    "store with two readings": (more("sawdust", 'store = "1,200 g"'), ["[sawdust] store", "1.200 or 1200"]),
    "fridge in Fahrenheit by mistake": (
        more("fridge", 'temperature = "38 C"'),
        ["[fridge] temperature: '38 C'", "15 °C"],
    ),
    "fridge a freezer": (more("fridge", 'temperature = "0 F"'), ["[fridge] temperature: '0 F'", "-5 °C"]),
    "kept too long": (more("keep", "days = 11"), ["[keep] days: 11 is over 10", "UK Food Standards Agency"]),
    "kept for no day": (more("keep", "days = 0"), ["[keep] days: 0", "above 0"]),
    "kept as duration": (more("keep", 'days = "3 d"'), ["[keep] days: '3 d' is text"]),
    "rules of nobody": (more("rules", 'parasites = "uk"'), ["[rules] parasites: 'uk'", '"food-code" or "eu"']),
    "weather blank": (more("weather", 'source = ""'), ["[weather] source: ''", "one line of text"]),
    "contact that would break a header": (
        more("weather", 'contact = "a@example.org\\r\\nX: y"'),
        ["[weather] contact", "one line of text"],
    ),
    "contact a name": (more("weather", 'contact = "the curer"'), ["[weather] contact: 'the curer'", "you@example.org"]),
    "section misspelt": (more("limit", 'ceiling = "60 F"'), ["limit: is not known here", "did you mean 'limits'?"]),
    "section like nothing": (more("qqq", "a = 1"), ["qqq: is not known here", "known are: site, shelter"]),
    "key misspelt": (more("limits", 'cieling = "60 F"'), ["[limits] cieling", "did you mean 'ceiling'?"]),
    "key in another section": (more("smoke", 'ceiling = "60 F"'), ["[smoke] ceiling", "belongs under [limits]"]),
    "key outside of sections": ('name = "x"\n' + SITE, ["name: is not known here; it belongs under [site]"]),
    "key with a line break": (more("limits", '"a\\nb" = 1'), ["[limits] 'a\\nb': is not known here"]),
    "section as value": ("shelter = true\n" + SITE, ["shelter: true is not a table", "write [shelter] on a line"]),
    "section as list": (SITE.replace("[site]", "[[site]]"), ["site: [{", "write [site] on a line"]),
    "key twice": (SITE + 'zone = "UTC"\n[keep]\n', ["line 6", "stands twice"]),
    "section twice": (SITE + "[site]\n", ["line 6", "stands twice"]),
    "no quotes": (instead("zone = Europe/London"), ["line 5: not TOML (", "text in quotes"]),
    "bracket open": (SITE + "[limits\n", ["line 6: not TOML"]),
    "quote open at the end": (SITE + '[limits]\nceiling = "60 F', ["line 7: not TOML"]),
    "nested beyond measure": (more("limits", "ceiling = " + "[" * 3000), ["beyond all measure"]),
    "NUL": (SITE.encode() + b"\0", ["NUL", "UTF-8"]),
    "UTF-16": (SITE.encode("utf-16"), ["NUL", "UTF-8"]),
    "Latin-1": (instead('name = "Räucherei"').encode("latin-1"), ["line 5 is not UTF-8"]),
    "far too large": (SITE + "#" * 300_000, ["larger than 256 kB"]),
}
