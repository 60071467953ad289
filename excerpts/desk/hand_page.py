"""What the left hand's room says of a part, on request: where the work is, with reasons, and proposed fingers.

For the teacher alone: nothing of it goes on a player's page unless it is boxed or taken over as a mark.
"""

from __future__ import annotations

from collections import Counter, OrderedDict
from fractions import Fraction
from threading import Lock
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from excerpts.desk import part_edits
from excerpts.desk.frame import state_of
from excerpts.desk.open_part import OpenPart
from excerpts.desk.part_page import for_script, opened_part, span_for_page
from excerpts.lefthand.fingering import Fingering, finger_part
from excerpts.lefthand.path import FIRST_YEAR, Wishes
from excerpts.lefthand.read_part import read_part
from excerpts.lefthand.work import WorkPassage
from excerpts.lefthand.write_fingers import signs
from excerpts.log.next_week_draft import MOST_BOXES
from excerpts.score.bars import BarRange
from excerpts.teacher.hard_bars import HardBars, hard_bars

_KEPT: Final = 8
_fingered: OrderedDict[tuple[object, ...], tuple[OpenPart, Fingering]] = OrderedDict()
_lock: Final = Lock()


def _fingering(opened: OpenPart) -> Fingering:
    """A fingering of the part for the player, with the teacher's marks in it; kept, for it takes some seconds.

    Raises:
        InputError: It is no part for one string instrument, or a mark cannot be put in.
    """
    player, piece, part = opened.week.player, opened.piece, opened.part
    taught = frozenset(player.positions) or (FIRST_YEAR if player.level == "first" else None)
    wishes = Wishes(taught, player.extensions == "avoid", piece.tone or "", piece.open_strings or "")
    key = id(part.score), part.index, opened.marks, piece.pupil_bars, player.plays.name, wishes
    with _lock:
        if key not in _fingered:
            read = read_part(part, player.instrument, opened.marks, piece.pupil_bars)
            _fingered[key] = opened, finger_part(read, wishes)
        _fingered.move_to_end(key)
        while len(_fingered) > _KEPT:
            _fingered.popitem(last=False)
        return _fingered[key][1]


@for_script
def _work(request: Request) -> Response:
    """The passages with the most work, as many as the player's level bears."""
    opened, words = opened_part(request), state_of(request).words
    made = hard_bars(_fingering(opened), words)
    rows: list[dict[str, Any]] = []
    for passage in made.passages(MOST_BOXES[opened.week.player.level]):
        span = _span(opened, made, passage)
        rows.append(
            {
                "span": span_for_page(opened, span),
                "bars": part_edits.address(opened, span),
                "why": made.faults(passage),
                "reasons": "; ".join(made.reasons(passage.bars)),
            }
        )
    return JSONResponse({"passages": rows, "caption": words("hard.caption")})


def _span(opened: OpenPart, made: HardBars, passage: WorkPassage) -> BarRange:
    """The bars of a passage, from beat to beat where it is not of whole bars, as the list of hard bars has them."""
    return opened.part.passage(made.address(passage)).span


@for_script
def _fingers(request: Request) -> Response:
    """The fingers and strings that a player needs and nobody has written, note by note."""
    opened = opened_part(request)
    bars = opened.part.bars
    last = len(bars) - 1
    made = _fingering(opened)
    fingers = signs(made, BarRange(0, Fraction(0), last, bars.length(last)))
    before = _grace_numbers(made)
    return JSONResponse(
        {
            "fingers": [
                {
                    "place": sign.one.note.measure + 1,
                    "onset": str(sign.one.note.within),
                    "before": before.get(id(sign.one), 0),
                    "pitch": str(sign.pitch),
                    "finger": sign.finger,
                    "string": sign.string,
                }
                for sign in fingers
                if sign.finger or sign.string
            ]
        }
    )


def _grace_numbers(made: Fingering) -> dict[int, int]:
    """Which of the grace notes of its time each grace note is, from 1, by its identity."""
    numbers: dict[int, int] = {}
    counts: Counter[tuple[int, Fraction]] = Counter()
    for one in made.notes:
        if one.note.grace:
            at = one.note.measure, one.note.within
            counts[at] += 1
            numbers[id(one)] = counts[at]
    return numbers


_AT: Final = "/part/{player:str}/{piece:str}"

ROUTES: Final = [
    Route(f"{_AT}/work", _work, methods=["GET"]),
    Route(f"{_AT}/fingers", _fingers, methods=["GET"]),
]
