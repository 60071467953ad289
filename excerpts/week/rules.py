"""The rules of the plan by name, in their order of priority: where two cannot both be kept, the later yields.

Nothing yields in silence: the plan names every rule that did (`Relaxed`), and the words file says it in a
sentence. All are common practice of string teachers without a source, and defaults: the `[plan]` table of a week
changes them.

The first three never yield. A day's items and breaks add up to its minutes. A session goes warm-up, technique,
passages, repertoire (or as the week orders it), with tuning before everything and a last tune after it. No
stretch of playing is longer than the time after which a break comes.
"""

from __future__ import annotations

from typing import Final, Literal, get_args

RuleName = Literal[
    "light-last-day",
    "box-in-depth",
    "run-through-short",
    "item-minutes-shortened",
    "item-minutes-stretched",
    "box-without-day",
    "piece-after-box",
    "piece-of-box",
    "review-largest",
    "every-section",
    "daily-piece",
    "tuning",
    "last-tune",
    "piece-without-day",
    "warm-up-without-day",
    "technique-without-day",
]
"""The rules that may have to yield, the most important first; each is named by what is told when it does.

- light-last-day: a day has the minutes that the week file says. The last day before a performance has half of
  them unless its date has minutes of its own, no technique, and the boxes of the programme once each, not in depth.
- box-in-depth: every practice day, the shortest too, has a box in depth.
- run-through-short: a run-through has time for every piece of the programme, once.
- item-minutes-shortened, item-minutes-stretched: an item has the minutes that the teacher gave it.
- box-without-day: every box is worked on in depth on one day at least, and the boxes go round evenly.
- piece-after-box: a piece is not played before its box.
- piece-of-box: the piece of a box in depth is played on the same day.
- review-largest: for a player in the first year the pieces in review are the largest share of every day.
- every-section: every section has its share every day. Under 20 minutes technique drops out before the day
  splits into scraps, under 30 it takes the few most useful bars of a study; under 8 there are one box and its piece.
- daily-piece: a piece of weight 7 or more comes every day.
- tuning, last-tune: both have their minutes in the day.
- piece-without-day, warm-up-without-day, technique-without-day: everything has a day; pieces take turns by
  weight, and those of equal weight that nothing calls out of turn differ by one day at most.
"""

RULES: Final[tuple[RuleName, ...]] = get_args(RuleName)
