"""What the reports look like today, whole: a change here is a change that people see."""

from __future__ import annotations

from dataclasses import replace

from asked import SITE, ask, made_forecast

from scheduler.faces.next_report import next_report
from scheduler.faces.nights_report import nights_report
from scheduler.household.site import Limits

NEXT = """\
Light on Fri 23 Oct between 19:45 and 21:25, best 21:25; lift from
Sat 09:25.

  batch   1.3 kg of salmon, frozen
  frozen  met by 7 days at −20 °C (−4 °F) (Food Code) and by 14 days at
          −18 °C (0 °F) (extension advice), each with 24 h for the core.
  site    Invented shed
  asked   Sat 17 Oct 14:00

  night   Fri 23 Oct: good
  air     warmest 10.9 °C (Fri 21:25), coldest 5.6 °C (Sat 03:00)
  chamber about 10.0 °C to 15.3 °C (Fri 21:25), 4.4 °C above the air
          with 1 front (our estimate); up to 19.8 °C if it burns hot
  margin  4.7 °C under your ceiling of 15.6 °C
  chance  95 % that the air stays under your ceiling, from one forecast
          and its usual error, 2.7 °C at 6.4 days ahead
  sun     dusk Fri 18:31, solar midnight Sat 00:40, dawn Sat 06:49
  why     It is the first good night that you can be ready for.

Nights that cannot be made
  Tonight (Sat 17 Oct), Sun 18 Oct and Mon 19 Oct are good too, but
  cannot be made: the salmon needs at least 24 h for each started 2.3 kg
  after thaw, 44 h after salt and 1 h after rinse, before light;
  2 days 15 h, 39 h and 15 h are missing.

Steps, with hands-on time, leeway and [cautions]
  Tue 20 Oct
  12:00  Start thawing in the fridge, 10 min [7]
         leeway Sun and Mon each 06:30–22:20, Tue 06:30–21:35
         Open vacuum packs first. Lay the fish in a dish that catches
         the drip, covered, in the coldest part of the fridge.
  Wed 21 Oct
  12:10  Salt and sugar, 45 min [8, 9, 10]
         leeway Tue and Wed each 06:30–21:45
"""

NIGHTS = """\
2 of 3 coming nights are good, first Sat 17 Oct; 1 borderline.

  site    Invented shed
  asked   Sat 17 Oct 14:00
  smoke   12 h, lit 16:00–22:00; air from -2.2 °C to 15.6 °C

Air outside and your ceiling, °C
20.0 │⣀⣀
     │⠁ ⠱⡀                               ⣰
15.6 │▁▁▁⢳▁▁▁▁▁▁▁▁⡴⠒⢄▁▁▁▁▁▁▁▁▁⡔⠉⠳⡄▁▁▁▁▁▁⢠⠃
     │    ⢇      ⡜  ⠈⢇       ⡜   ⠹⡄     ⡎
     │    ⠘⡄    ⡼    ⠘⡆     ⣰⠁    ⢱⡀   ⡸
     │     ⠱⡀  ⡰⠁     ⠸⡀   ⢠⠃      ⠳⡀ ⡰⠃
     │      ⠱⠤⠔⠁       ⠱⡀ ⢀⠏        ⠙⠚⠁
 6.5 │                  ⠙⠶⠋
          ━━━━━━      ━━━━━━      ━━━━━━
          Sat         Sun         Mon
           17          18          19
           ●           ●           ◐
▁▁ your ceiling, ━━ best lighting to lift; ● good, ◐ borderline, - no, ? unknown

Nights, air in °C
night       verdict     light        lift       peak  low  margin  chance
Sat 17 Oct  good        20:47–21:25  Sun 09:25  13.4  8.1     2.2    93 %
            the air peaks at 13.4 °C (Sat 21:25), 2.2 °C under your ceiling
Sun 18 Oct  good        18:58–21:25  Mon 08:54  11.7  6.5     3.9    98 %
            the air peaks at 11.7 °C (Mon 08:54), 3.9 °C under your ceiling
Mon 19 Oct  borderline  19:01–21:13  Tue 08:17  13.9  9.0     1.6    76 %
            the air peaks at 13.9 °C (Tue 08:17), 1.6 °C under your ceiling

This is the weather alone: `smokenight next` says which of these nights you can
be ready for.

Forecast
  table, made Sat 17 Oct 12:00, 2 h ago
  Invented weather (https://weather.example/terms)\
"""

NARROW = """\
1 of 1 coming night is good, first
Sat 17 Oct.

  site    Invented shed
  asked   Sat 17 Oct 14:00
  smoke   12 h, lit 16:00–22:00; air
          from 28.0 °F to 60.0 °F, gusts
          to 18 mph

Air outside and your ceiling, °F
60.0 │⠋⠉⢢▁▁▁▁▁▁▁▁▁
     │   ⢧
     │   ⠈⡆      ⡰
     │    ⠸⡀    ⣰⠁
     │     ⢣   ⢠⠃
42.1 │      ⢣⣀⡠⠃
          ━━━━━━
          Sat
           17
           ●
▁▁ your ceiling, ━━ best lighting to
lift; ● good, ◐ borderline, - no,
? unknown

Nights, air in °F
Sat 17 Oct  good, chance 98 %
  light 18:59–21:25, lift Sun 09:25
  air 42.1 to 51.6, margin 8.4
  the air peaks at 51.6 °F (Sat 21:25),
  8.4 °F under your ceiling
  chance that the air stays under your
  ceiling: 98 %
  chance from one forecast and its usual
  error, 2.7 °F at 0.4 days ahead
  rain 0.00 in, gusts to 7 mph
  chamber about 50.0 °F to 59.5 °F
  (Sat 21:25), 8.0 °F above the air with
  1 front (our estimate); up to 67.6 °F
  if it burns hot
  food as warm as the chamber, for
  information and not as a clearance:
  12 h from 50.0 °F to 70.0 °F
  best lit at 21:25
  dusk Sat 18:40, solar midnight
  Sun 00:40, dawn Sun 06:42
  air and margin by the hour:
  21:25 51.6 (8.4), 22:00 50.0 (10.0),
  23:00 47.7 (12.3), 00:00 45.5 (14.5),
  01:00 43.7 (16.3), 02:00 42.6 (17.4),
  03:00 42.1 (17.9), 04:00 42.1 (17.9),
  05:00 42.8 (17.2), 06:00 43.9 (16.1),
  07:00 45.7 (14.3), 08:00 47.5 (12.5),
  09:00 49.6 (10.4), 09:25 50.5 (9.5)

This is the weather alone: `smokenight
next` says which of these nights you can
be ready for.

Forecast
  table, made Sat 17 Oct 12:00, 2 h ago
  Invented weather
  (https://weather.example/terms)\
"""


def test_the_next_night_up_to_its_steps():
    text = next_report(ask(), 72, colour=False)
    assert text.partition("  Fri 23 Oct\n")[0] == NEXT


def test_three_nights_as_a_table():
    found = ask(made_forecast(days=3, mean_c=15.5))
    assert nights_report(found.question, found.nights, why=False, width=80, colour=False) == NIGHTS


def test_three_nights_on_a_narrow_page_with_what_they_rest_on():
    found = ask(made_forecast(days=1), site=replace(SITE, units="us", limits=Limits(gust_ms=8.0)))
    assert nights_report(found.question, found.nights, why=True, width=40, colour=False) == NARROW
