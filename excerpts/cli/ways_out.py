"""The kinds of files that the commands write: for each ending what writes it.

Nothing heavy is imported before it is needed: a cut to MusicXML engraves nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from excerpts.cli.options import warn
from excerpts.cli.sound_options import SOUNDS, Playing
from excerpts.errors import InputError

if TYPE_CHECKING:
    from excerpts.excerpt import Excerpt, Tempo
    from excerpts.musicxml.pitch import Pitch
    from excerpts.score import Score
    from excerpts.sound.playback import Playback
    from excerpts.sound.recording import Recording
    from excerpts.workbook.sheet_blocks import Sheet

Way = Callable[..., bytes]
"""Writes an excerpt as it is to be played; the score tells the parts."""

MOST_MB: Final = 100
"""Megabytes of one sound file."""


def _packed(document: bytes) -> bytes:
    from excerpts.score.container import packed

    return packed(document)


def _midi(excerpt: Excerpt, playing: Playing, _: Score | None = None) -> bytes:
    from excerpts.sound.midi import write_midi

    return write_midi(excerpt, count_in=playing.count_in or 0, click=playing.click)


def _midi_with_drone(excerpt: Excerpt, playing: Playing, _: Score | None = None) -> bytes:
    from excerpts.warmups.drone import drone_of, with_drone_track

    drone, data = drone_of(excerpt), _midi(excerpt, playing)
    return with_drone_track(data, drone) if drone else data


def _sounds(drone_of: Callable[[Excerpt], Pitch | None]) -> dict[str, Way]:
    """The ways out as sound, for music whose drone a function tells."""

    def way(suffix: str) -> Way:
        return lambda excerpt, playing, score=None: sound_of(
            excerpt, suffix, playing.playback(excerpt, score=score, drone=drone_of(excerpt))
        )

    return {suffix: way(suffix) for suffix in SOUNDS}


def _drone_of_warmup(excerpt: Excerpt) -> Pitch | None:
    from excerpts.warmups.drone import drone_of

    return drone_of(excerpt)


def sound_of(
    excerpt: Excerpt,
    suffix: str,
    playback: Playback,
    tempo: Tempo | None = None,
    *,
    track: int = 0,
    gain: float | None = None,
) -> bytes:
    """The bytes of a sound file of an excerpt.

    Args:
        excerpt: The music.
        suffix: The kind of file.
        playback: How it is played.
        tempo: Its tempo; that of the score when left out.
        track: Its number among several; 0 for none.
        gain: What its music is multiplied with, so that several are alike.

    Raises:
        InputError: No note sounds, or the file would be too long or too big.
    """
    from excerpts.sound.perform import perform
    from excerpts.sound.recording import record
    from excerpts.sound.sound_file import Tags, encode

    performance = perform(excerpt)
    if track < 2:  # of several files, once
        warn(*performance.unplayed)
    recording = record(performance, playback, tempo, gain)
    check_size(recording, suffix)
    origin = excerpt.origin
    address = f"bars {origin.address}" if origin.address else ""
    title = ", ".join(filter(None, (origin.title, address, origin.variant, playback.told)))
    return encode(recording.blocks(), suffix, Tags(title, origin.title, track))


def check_size(recording: Recording, suffix: str) -> None:
    """See that a file is not too big.

    Raises:
        InputError: It is.
    """
    from excerpts.sound.sound_file import KB_A_MINUTE

    megabytes = recording.seconds / 60 * KB_A_MINUTE[suffix] / 1000
    if megabytes > MOST_MB:
        raise InputError(
            f"the file would last {recording.seconds / 60:.0f} minutes and have {megabytes:.0f} MB.",
            hint=f"Take fewer bars or fewer --times; a file has at most {MOST_MB} MB, and .mp3 is the smallest.",
        )


def _xml_with_drone(excerpt: Excerpt) -> bytes:
    from excerpts.warmups.drone import with_drone_part

    drone = _drone_of_warmup(excerpt)
    return with_drone_part(excerpt, drone) if drone else excerpt.xml


def _stacked(sheet: Sheet) -> bytes:
    from excerpts.engrave import stack_svg

    music = [music for _, _, music in sheet.blocks if music is not None]
    return stack_svg(music, headings=[heading for heading, _, music in sheet.blocks if music is not None])


def _paged(sheet: Sheet) -> bytes:
    from excerpts.workbook import build_sheet

    look = sheet.look
    return build_sheet(
        sheet.blocks,
        size=look.size,
        title=sheet.title,
        words=look.words,
        copied=sheet.copied,
        pages=sheet.pages,
    )


MUSIC: Final[dict[str, Way]] = {
    ".musicxml": lambda excerpt, *_: excerpt.xml,
    ".mxl": lambda excerpt, *_: _packed(excerpt.xml),
    ".mid": _midi,
    **_sounds(lambda _: None),
}
"""Files that hold one excerpt."""

WARMUPS: Final[dict[str, Way]] = {
    ".musicxml": lambda excerpt, *_: _xml_with_drone(excerpt),
    ".mxl": lambda excerpt, *_: _packed(_xml_with_drone(excerpt)),
    ".mid": _midi_with_drone,
    **_sounds(_drone_of_warmup),
}
"""Files that hold one warm-up, with its drone where it has one."""

SHEETS: Final[dict[str, Callable[[Sheet], bytes]]] = {".svg": _stacked, ".pdf": _paged}
"""Files in which any number of excerpts or warm-ups is drawn."""
