"""Writes sound as a file: .mp3 (variable bit rate), .flac or .wav, with its title and where it belongs, and no name."""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import soundfile

from excerpts.errors import OutputError
from excerpts.musicxml.format import SOFTWARE
from excerpts.sound.tone import RATE, Wave

PURPOSE: Final = "For notes, rhythm and pitch; not for tone or bowing."
"""What every file says of itself."""

_KINDS: Final = {
    ".mp3": ("MP3", "MPEG_LAYER_III", {"compression_level": 0.5, "bitrate_mode": "VARIABLE"}),
    ".flac": ("FLAC", "PCM_16", {}),
    ".wav": ("WAV", "PCM_16", {}),
}
KB_A_MINUTE: Final = {".mp3": 366, ".flac": 1714, ".wav": 5292}
"""Kilobytes of a minute of sound, as measured on quartets; exact for .wav."""


@dataclass(frozen=True, slots=True)
class Tags:
    """What a player on a phone shows.

    Attributes:
        title: Of the file.
        album: What it belongs to.
        track: Its number there; 0 for none.
    """

    title: str = ""
    album: str = ""
    track: int = 0

    @property
    def texts(self) -> dict[str, str]:
        """The tags that say something, by the names of the library."""
        said = {"title": self.title, "album": self.album, "tracknumber": str(self.track or "")}
        comment = f"Made with {SOFTWARE}. {PURPOSE}"
        return {name: text for name, text in said.items() if text} | {"comment": comment}


def encode(blocks: Iterable[Wave], suffix: str, tags: Tags) -> bytes:
    """The bytes of a sound file.

    Args:
        blocks: The sound, piece by piece.
        suffix: The kind of file, as ".mp3".
        tags: What it says of itself.

    Raises:
        OutputError: The library that codes sound cannot write this kind of file.
    """
    name, subtype, more = _KINDS[suffix]
    buffer = io.BytesIO()
    try:
        with soundfile.SoundFile(buffer, "w", RATE, 1, format=name, subtype=subtype, **more) as file:
            if suffix != ".mp3":
                for key, text in tags.texts.items():
                    setattr(file, key, text)
            for block in blocks:
                file.write(block)
    except (soundfile.SoundFileError, TypeError, ValueError, AssertionError) as error:
        raise OutputError(
            f"the sound library cannot write {suffix} files ({error}).",
            hint="Install soundfile 0.14 or newer (pip install -U soundfile), or write .flac or .wav.",
        ) from error
    return (_id3(tags) if suffix == ".mp3" else b"") + buffer.getvalue()


_FRAMES: Final = {
    "title": ("TIT2", b""), "album": ("TALB", b""), "tracknumber": ("TRCK", b""), "comment": ("COMM", b"eng\0"),
}  # fmt: skip
"""Frames of ID3v2.4.0, and what stands in front of their text."""


def _id3(tags: Tags) -> bytes:
    """The tags of an MP3 file in UTF-8 (ID3v2.4.0): the library writes Latin letters alone."""
    body = b"".join(
        _frame(_FRAMES[key][0], _FRAMES[key][1] + text.encode()) for key, text in tags.texts.items()
    )
    return b"ID3\x04\x00\x00" + _sevens(len(body)) + body


def _frame(name: str, content: bytes) -> bytes:
    return name.encode() + _sevens(len(content) + 1) + b"\0\0\x03" + content


def _sevens(number: int) -> bytes:
    """Four bytes of seven bits each."""
    return bytes(number >> shift & 0x7F for shift in (21, 14, 7, 0))
