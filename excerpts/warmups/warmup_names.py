"""What a warm-up is called on the page, and what is said about playing it."""

from __future__ import annotations

from excerpts.errors import WarmupError
from excerpts.excerpt import Excerpt
from excerpts.instruments.keys import Key, key_name, note_name, parse_root
from excerpts.notes.read import read_field
from excerpts.warmups.manner import Manner
from excerpts.warmups.pattern_notes import SEVEN_ARPEGGIOS, leads_to, passes
from excerpts.warmups.patterns import Pattern, find_pattern
from excerpts.warmups.scale_fingering import Fingers
from excerpts.warmups.scale_range import ScaleRange
from excerpts.words import Words


def warmup_title(key: Key, pattern: str, octaves: int, words: Words) -> str:
    """Name a warm-up for print: "D major scale, two octaves".

    Args:
        key: The key; an arpeggio is only major or minor.
        pattern: Name of the pattern.
        octaves: How many, 1 to 4.
        words: Texts of the player.
    """
    shape = find_pattern(pattern)
    name = _name(key, shape, words)
    if shape.fixed:
        return name
    return words("warmup.title", name=name, octaves=words(f"warmup.octaves_{octaves}"))


def short_name(key: str, pattern: str | None, words: Words, *, whole: bool = False) -> str:
    """Name a warm-up in few words: the key alone where it is a scale ("D major"), else "D major arpeggio".

    Args:
        key: The key as the teacher wrote it.
        pattern: Name of the pattern; None for a scale.
        words: Texts of the player.
        whole: A scale is named as one ("D major scale").
    """
    shape = find_pattern(pattern or "scale")
    read = shape.key(key)
    return key_name(read, words) if shape.name == "scale" and not whole else _name(read, shape, words)


def _name(key: Key, pattern: Pattern, words: Words) -> str:
    named = key_name(key, words, plain=pattern.plain)
    return words(f"warmup.{pattern.words_id}", key=named, note=note_name(key, words))


def lines(
    key: Key, pattern: Pattern, span: ScaleRange, manner: Manner, fingers: Fingers, words: Words
) -> list[str]:
    """What is said about playing it, each in a sentence.

    Args:
        key: The key.
        pattern: The pattern.
        span: Its octaves and level.
        manner: What was asked for.
        fingers: The finger of each note; empty for none.
        words: Texts of the player.
    """
    said: list[str] = []
    if pattern.words_id in {"long_notes", "tune"}:
        said.append(words(f"warmup.line.{pattern.words_id}"))
    if pattern.name == SEVEN_ARPEGGIOS:
        said.append(words("warmup.line.seven_arpeggios"))
    if pattern.name == "dominant-seventh":
        said.append(words("warmup.line.dominant", key=key_name(leads_to(key), words, plain=True)))
    if pattern.name == "acceleration":
        counts = ", ".join(str(count) for count in passes(span.level, span.octaves))
        said.append(words("warmup.line.acceleration", counts=counts))
    if manner.slur:
        separate = manner.slur == 1
        said.append(words("warmup.line.separate" if separate else "warmup.line.slur", count=manner.slur))
    if manner.drone:
        said.append(words("warmup.line.drone", note=note_name(key, words)))
    kind = manner.fingering_kind
    if kind is not None and kind != "given":
        whole = kind == "usual" or all(spot is not None for spots in fingers for spot in spots)
        said.append(words(f"warmup.line.fingers_{kind}{'' if whole else '_partly'}"))
    return said


INSTRUCTION = "instruction"
DRONE = "drone"
KEYNOTE = "keynote"
"""Names of the fields of a music file's `<miscellaneous>` that a warm-up fills."""


def warmup_line(excerpt: Excerpt) -> str:
    """What is said about playing a warm-up; "" where nothing is."""
    return read_field(excerpt, INSTRUCTION)


def keynote_told(excerpt: Excerpt) -> Key | None:
    """The first note of a warm-up whose key signature tells no key, as a major key; None where its file has none."""
    text = read_field(excerpt, KEYNOTE)
    try:
        return parse_root(text) if text else None
    except WarmupError:
        return None  # another program's field of that name
