"""Makes the sound files of a week: each box at its tempo steps, warm-ups over their drone, strings to tune to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import chain
from typing import Final

from excerpts.errors import InputError
from excerpts.excerpt import Excerpt, Tempo
from excerpts.instruments.instrument_names import instrument
from excerpts.recordings.ear_exercises import open_strings, with_references
from excerpts.sound.perform import perform
from excerpts.sound.performance import Performance
from excerpts.sound.playback import Intonation, Playback, course, drone_of_key
from excerpts.sound.recording import TAIL, Recording, gain_of, record
from excerpts.sound.sound_file import KB_A_MINUTE, Tags, encode
from excerpts.warmups.patterns import find_pattern
from excerpts.week import Week
from excerpts.week.bars_in_words import box_name
from excerpts.week.orders import Orders, ScaleOrders
from excerpts.week.sound_files import SoundFile
from excerpts.weekfile.scale_items import ScaleFields
from excerpts.weekfile.tempo_text import tempo_text
from excerpts.words import Words

AS_USUAL: Final = Playback(count_in=1, times=3)
"""How a box is played where nobody says it: three times, a bar of clicks before each (common practice, no source)."""

LONG_NOTES: Final = "long-notes"
"""The pattern whose notes have their pitch in front of them."""


class WeekSound:
    """What the sound files of a week hold.

    Args:
        week: The week.
        files: Its sound files.
        playback: How a box is played; the other files take its A and its intonation alone.
        tuning: How open strings are tuned.
    """

    def __init__(
        self, week: Week, files: Sequence[SoundFile], playback: Playback, tuning: Intonation = "pure"
    ) -> None:
        self.week = week
        self.files = tuple(files)
        self._playback = playback
        self._tuning = tuning
        self._words = Words(week.player.words)
        self._orders = Orders(week)
        self._performances: dict[tuple[str, int], Performance] = {}
        self._gains: dict[tuple[str, int], float] = {}

    @cached_property
    def seconds(self) -> float:
        """How long all files are together."""
        return sum(
            float(course(made, made.at(tempo), tempo, self._manner(file)).length) + TAIL
            for file in self.files
            for made in [self._performance(file)]
            for tempo in file.tempos or (None,)
        )

    def megabytes(self, suffix: str) -> float:
        """How big all files are together, about."""
        return self.seconds / 60 * KB_A_MINUTE[suffix] / 1000

    @property
    def unplayed(self) -> tuple[str, ...]:
        """What is written in the boxes and not played, a sentence each."""
        boxes = {file.place: file for file in self.files if file.section == "box"}
        return tuple(
            f'box "{self.week.boxes[place].id}", {line}'
            for place, file in boxes.items()
            for line in self._performance(file).unplayed
        )

    @property
    def not_to_share(self) -> str:
        """What is to be said of pieces whose sound is for this computer only; empty where there is none."""
        boxes = [self.week.boxes[file.place] for file in self.files if file.section == "box"]
        asked = {box.piece for box in boxes if box.abc is None}
        titles = [piece.title for piece in self.week.pieces if piece.id in asked and not piece.share]
        if not titles:
            return ""
        return (
            f"{', '.join(titles)}: the sound is for this computer only, since a recording of an edition may be"
            " restricted. Where you may pass it on, write share = true at its [[piece]]."
        )

    def facts(self, file: SoundFile) -> str:
        """All that decides what a file sounds like, but for the program: equal facts, equal bytes."""
        made, manner = self._performance(file), self._manner(file)
        tempos = (self._goal(file), *(file.tempos or (None,)))
        takes = [(made.at(tempo).as_json(), course(made, made.at(tempo), tempo, manner)) for tempo in tempos]
        return repr((takes, manner, self._title(file), file.track))

    def made(self, file: SoundFile, suffix: str) -> bytes:
        """The bytes of one file."""
        blocks = chain.from_iterable(one.blocks() for one in self._recordings(file))
        title, album = self._title(file)
        return encode(blocks, suffix, Tags(title, album, file.track))

    def _recordings(self, file: SoundFile) -> Iterator[Recording]:
        """The music at each of its tempos, all of one loudness with the other files of a box."""
        made, manner, key = self._performance(file), self._manner(file), (file.section, file.place)
        for tempo in file.tempos or (None,):
            if key not in self._gains:
                self._gains[key] = gain_of(made, manner, self._goal(file))
            yield record(made, manner, tempo, self._gains[key])

    def _goal(self, file: SoundFile) -> Tempo | None:
        return self.week.boxes[file.place].target if file.section == "box" else None

    def _performance(self, file: SoundFile) -> Performance:
        """What is played; read once for all tempos."""
        key = (file.section, file.place)
        if key not in self._performances:
            self._performances[key] = self._read(file)
        return self._performances[key]

    def _read(self, file: SoundFile) -> Performance:
        if file.section == "tuning":
            return open_strings(instrument(self.week.player.instrument), self._tuning)
        if file.section == "box":
            box = self.week.boxes[file.place]
            upper = box.piece is not None and self.week.piece(box.piece).trills == "upper"
            music = self._orders.boxes[file.place].music.made()
            if music is None:
                raise InputError(f'the box "{box.id}" is on paper only.', where=str(self.week.path))
            return self._played(music, box.id, upper)
        item, music = self._scale(file)
        made = self._played(music, item.key or "")
        return with_references(made) if item.pattern == LONG_NOTES else made

    def _played(self, music: Excerpt, name: str, upper: bool = False) -> Performance:
        made = perform(music, upper_trills=upper)
        if not made.notes:
            raise InputError(f'there is no note to play in "{name}".', where=str(self.week.path))
        return made

    def _scale(self, file: SoundFile) -> tuple[ScaleFields, Excerpt]:
        orders = (self._orders.warmups if file.section == "warmup" else self._orders.technique)[file.place]
        assert isinstance(orders, ScaleOrders)  # those with a key are
        return orders.item, orders.plain.made()

    def _manner(self, file: SoundFile) -> Playback:
        """How a file is played: boxes as asked for, scales once over their drone, strings alone."""
        if file.section == "box":
            return self._playback
        plain = replace(Playback(), a=self._playback.a)
        if file.section == "tuning":
            return plain
        item, _ = self._scale(file)
        key = item.key_read
        if key is None or find_pattern(item.pattern or "scale").by_note:
            return plain
        return replace(plain, drone=drone_of_key(key), intonation=self._playback.intonation)

    def _title(self, file: SoundFile) -> tuple[str, str]:
        """Title and album of a file, in the player's words."""
        manner = self._manner(file)
        if file.section == "tuning":
            strings = instrument(self.week.player.instrument).sounding_strings
            names = " ".join(pitch.step for pitch in reversed(strings))
            return f"{names} ({self._tuning}), A = {manner.a}", ""
        if file.section != "box":
            _, music = self._scale(file)
            return ", ".join(filter(None, (music.origin.title, manner.told))), ""
        box = self.week.boxes[file.place]
        tempos = " – ".join(
            tempo_text(tempo, self._words) for tempo in dict.fromkeys((*file.tempos[:1], *file.tempos[-1:]))
        )
        name = box_name(self.week, box, self._words) or box.id
        return ", ".join(filter(None, (f"{file.place + 1} {name}", tempos, manner.told))), name
