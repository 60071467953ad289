"""The sound files of a week: what each is called and what it holds, told by the week file alone.

In the order of the workbook: strings to tune to, warm-ups, boxes. The number comes first, so that a telephone plays
them in this order; the player's name is in none of them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from excerpts.excerpt import Tempo
from excerpts.system.studio_files import slug
from excerpts.week.box_tempos import box_tempos
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.model import WeekFile
from excerpts.weekfile.scale_items import ScaleFields
from excerpts.weekfile.tempo_text import beat_name, number_text
from excerpts.words import Words

Steps = Literal["ends", "all"]
"""Of a box the first tempo step, which is today's, and the goal; or all of them."""

Section = Literal["tuning", "warmup", "technique", "box"]


@dataclass(frozen=True, slots=True)
class SoundFile:
    """One sound file of a week.

    Attributes:
        track: Its number among all of the week, from 1.
        name: Its name without the ending.
        section: What it holds: open strings, a warm-up, technique in a key, or a box.
        place: Which of them, from 0.
        tempos: The tempo that it is played at, or several one after the other; none for that of the music.
    """

    track: int
    name: str
    section: Section
    place: int = 0
    tempos: tuple[Tempo, ...] = ()


def sound_files(
    week: WeekFile,
    steps: Steps = "ends",
    *,
    together: bool = False,
    a: int = 440,
    days: Mapping[str, int] | None = None,
) -> list[SoundFile]:
    """The sound files of a week.

    Args:
        week: The week.
        steps: Which tempo steps of a box have a file.
        together: Each box has a file of all its steps besides.
        a: Hertz of A4, which the name of the strings tells.
        days: Days on which each box is worked on in depth, by its id, as far as they are known.
    """
    words = Words(week.player.words)
    files = [SoundFile(1, f"A-{a}", "tuning")]
    keyed: list[tuple[Section, Sequence[ScaleFields]]] = [
        ("warmup", week.warmups),
        ("technique", week.technique),
    ]
    files += [
        SoundFile(0, slug(f"{item.key} {item.pattern or 'scale'}".replace("#", "-sharp")), section, place)
        for section, items in keyed
        for place, item in enumerate(items)
        if item.key
    ]
    for place, box in enumerate(week.boxes):
        if has_notes(box, week):
            tempos = box_tempos(box, week, (days or {}).get(box.id, 0))
            files += _of_box(place, box, tempos, steps, together, words)
    width = len(str(len(files)))
    return [
        SoundFile(number, f"{number:0{width}}-{one.name}", one.section, one.place, one.tempos)
        for number, one in enumerate(files, start=1)
    ]


def has_notes(box: BoxItem, week: WeekFile) -> bool:
    """Whether the notes of a box are known: it stands in a score, or is typed in."""
    if box.abc is not None:
        return True
    piece = next((piece for piece in week.pieces if piece.id == box.piece), None)
    return box.in_score is not None and piece is not None and piece.score is not None


def sound_names(week: WeekFile, section: Section, place: int) -> str:
    """The names of the sound files of a box or a warm-up, as its page has them; empty where the week has no sound."""
    if not week.week.sound:
        return ""
    return ", ".join(one.name for one in sound_files(week) if (one.section, one.place) == (section, place))


def _of_box(
    place: int, box: BoxItem, tempos: tuple[Tempo, ...], steps: Steps, together: bool, words: Words
) -> list[SoundFile]:
    chosen = (
        tempos
        if steps == "all"
        else tuple(dict.fromkeys((*tempos[:1], *([box.target] if box.target else []))))
    )
    named: list[tuple[str, tuple[Tempo, ...]]] = [
        (f"{box.id}-{slug(beat_name(tempo.unit, words))}-{number_text(tempo.number)}", (tempo,))
        for tempo in chosen
    ]
    named += [(f"{box.id}-all", tempos)] if together and len(tempos) > 1 else []
    return [SoundFile(0, name, "box", place, played) for name, played in named or [(box.id, ())]]
