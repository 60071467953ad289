"""Hearing a part: from a bar on, a box, a variant of it, at a tempo, with clicks or a drone; the sound of the files."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from excerpts.desk import part_edits
from excerpts.desk.frame import state_of
from excerpts.desk.open_part import OpenPart
from excerpts.desk.part_page import chosen_box, for_script, opened_part, orders_of
from excerpts.desk.piece_boxes import PieceBox
from excerpts.errors import InputError
from excerpts.excerpt import Excerpt, Tempo
from excerpts.score.bars import BarRange
from excerpts.sound.perform import perform
from excerpts.sound.playback import Playback, drone_note
from excerpts.sound.recording import record
from excerpts.variants import for_player, vary
from excerpts.weekfile.tempo_text import parse_number
from excerpts.words import Words

KIND: Final = ".mp3"
MOST_BARS: Final = 32
"""Bars that are played from a place on: so many are made in a second or two."""


@for_script
def _hear(request: Request) -> Response:
    """The sound of what was asked for: `box`, with `variant`; else a span; at `tempo` beats a minute."""
    opened, asked = opened_part(request), request.query_params
    unit = None
    if "box" in asked:
        box = chosen_box(opened, asked["box"])
        music = _of_box(request, opened, box, asked.get("variant", ""))
        unit = box.item.target.unit if box.item and box.item.target else None
    else:
        music = _of_span(opened, asked.get("first"), asked.get("start"), asked.get("last"), asked.get("end"))
    made = perform(music, upper_trills=opened.piece.trills == "upper")
    if not made.notes:
        raise InputError("there is no note to play in these bars.")
    clicks = asked.get("click") == "yes"
    playback = Playback(
        click="every" if clicks else None,
        count_in=1 if clicks else 0,
        drone=drone_note(music, "") if asked.get("drone") == "yes" else None,
    )
    tempo = _tempo(opened, asked.get("tempo", ""), asked.get("first"), music, unit)
    try:
        from excerpts.sound.sound_file import Tags, encode
    except (ImportError, OSError) as error:  # soundfile, or the library below it that a system may lack
        raise InputError(state_of(request).words("desk.offers.no_sound", why=error)) from error
    sound = encode(record(made, playback, tempo).blocks(), KIND, Tags(opened.piece.title, "", 0))
    return Response(sound, media_type="audio/mpeg")


def _of_box(request: Request, opened: OpenPart, box: PieceBox, variant: str) -> Excerpt:
    music = orders_of(request, opened, box).music.made()
    if music is None:
        raise InputError("the box has no notes.")
    if not variant:
        return music
    player = opened.week.player
    return vary(music, for_player(variant, player.instrument), words=Words(player.words))


def _of_span(opened: OpenPart, *sent: str | None) -> Excerpt:
    """The bars that were asked for; from a place on where no end was told."""
    first, start, last, end = sent
    bars = opened.part.bars
    if last is None:
        begin = part_edits.span_of(opened, [first, start or "0", first, None])
        stop = min(begin.first + MOST_BARS, len(bars)) - 1
        span = BarRange(begin.first, begin.start, stop, bars.length(stop))
    else:
        span = part_edits.span_of(opened, [first, start or "0", last, end])
    address = part_edits.address(opened, span)
    return opened.part.passage(address, opened.piece.pupil_bars).cut(0, (), opened.marks)


def _tempo(
    opened: OpenPart, typed: str, first: str | None, music: Excerpt, unit: Fraction | None
) -> Tempo | None:
    """The tempo that was typed, in the note of a box's goal, else the beat of the first bar; None where none was."""
    if not typed:
        return None
    try:
        number = parse_number(typed)
    except ValueError as error:
        raise InputError(str(error)) from error
    index = int(first) - 1 if first and first.isdecimal() else music.bars[music.boxes[0].start.bar].place - 1
    if not 0 <= index < len(opened.part.bars):
        raise InputError("this bar is not in the part.")
    if unit:
        return Tempo(number, unit)
    return Tempo(number, opened.part.bars.metre(index).first_beat)


ROUTES: Final = [Route("/part/{player:str}/{piece:str}/hear", _hear, methods=["GET"])]
