"""After two weeks without practice a player begins again gently: fewer minutes, and slower, if the teacher agrees."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

from excerpts.log.next_week_draft import NUMBERS_BELOW, NextWeekDraft
from excerpts.log.standing import days_off
from excerpts.variants import slow_start
from excerpts.variants.tempo_steps import one_down

REST_DAYS: Final = 14
"""Days without a row in the log after which the first days are lighter: common practice, no source."""

LIGHT_DAYS: Final = 3
"""Days of practice that are lighter: common practice, no source."""


def ease_in(story: NextWeekDraft) -> None:
    """Propose half the minutes for three days, and a lower start; written only where the teacher takes it ("rest")."""
    off = days_off(story.rows, story.start)
    if off is None or off < REST_DAYS:
        return
    days = story.week.week
    coming = (story.start + timedelta(days=n) for n in range(14))
    light = [day for day in coming if days.minutes_on(day)][:LIGHT_DAYS]
    halved = {day.isoformat(): max(days.minutes_on(day) // 2, 1) for day in light}
    minutes = ", ".join(f'"{day}" = {number}' for day, number in halved.items())
    story.about, taken = "rest", "rest" in story.choices.taken
    story.tell("after_rest", days=off, light=len(light), minutes=minutes)
    slower = [box for box in story.week.boxes if box.id in story.in_work and box.target is not None]
    if slower:
        story.tell("after_rest_lower")
    for box in slower:
        assert box.target is not None
        start = one_down(story.starts.get(box.id) or box.start or slow_start(box.target), NUMBERS_BELOW)
        story.tell("after_rest_start", box=story.box(box), start=story.tempo(start))
        if taken and box.id not in story.choices.starts:
            story.change(box, {"start": story.start_value(box, start)})
    if taken:
        story.light.update(halved)
