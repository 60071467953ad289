"""What the script of a page is given besides days and boxes: whose it is, the rules of the week, what it says."""

from __future__ import annotations

from hashlib import sha256
from typing import Any, Final

from excerpts.player_page.page_days import concerts
from excerpts.system.studio_files import player_key
from excerpts.variants.tempo_steps import METRONOME_NUMBERS
from excerpts.week import Week
from excerpts.words import Words
from excerpts.workbook.page_texts import Dates, PageTexts
from excerpts.workbook.reader import Reader

_STEPS_UP: Final = 3
"""Steps up that one day of a box may have; for those whose tempos rise with care it is one, as on paper."""


def page_data(week: Week, kind: Reader, texts: PageTexts, a: int) -> dict[str, Any]:
    """The week as the script needs it.

    Args:
        week: The week.
        kind: Who it is for.
        texts: The words of the pages.
        a: Hertz of A4 in what is played.
    """
    dates = Dates(texts)
    return {
        # A digest, so that the device keeps nobody's name.
        "key": sha256(player_key(week.player.name).encode()).hexdigest()[:12],
        "week": week.week.start.isoformat(),
        "last": week.week.last.isoformat(),
        "dates": {day.isoformat(): dates.weekday(day) for day in week.week.dates},
        "player": week.player.name,
        "child": kind.child,
        "record": week.records and not kind.child,
        "a": a,
        "concerts": [] if kind.child else list(concerts(week, texts)),
        "pieces": [{"piece": piece.id, "title": piece.title} for piece in week.pieces],
        "numbers": METRONOME_NUMBERS,
        "lang": texts.words.tag,
        "script": _said(week, texts.words),
    } | _rules(week)


def _rules(week: Week) -> dict[str, Any]:
    """The rules that the week may change."""
    return {
        "slip": week.plan.slip,
        "mostUp": 1 if week.careful else _STEPS_UP,
        "below": 0 if week.careful else 1,
        "breakAfter": week.plan.break_after,
        "breakMinutes": week.plan.break_minutes,
    }


def _said(week: Week, words: Words) -> dict[str, str]:
    """What the script says; the rules of counting and the caution in the words of the workbook."""
    return words.table("page.script") | {
        "rule": words("plan.clean_run.text"),
        f"slip_{week.plan.slip}": words(f"plan.slip.{week.plan.slip}"),
        "hurts_text": " ".join(words(f"caution.pain.{part}") for part in ("head", "text")),
    }
