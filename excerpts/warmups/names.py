"""What a warm-up is called on the page."""

from __future__ import annotations

from excerpts.keys import Key, key_name
from excerpts.words import Words


def warmup_title(key: Key, pattern: str, octaves: int, words: Words) -> str:
    """Name a warm-up for print: "D major scale, two octaves".

    Args:
        key: The key; an arpeggio is only major or minor.
        pattern: "scale" or "arpeggio".
        octaves: How many, 1 to 4.
        words: Texts of the player.
    """
    name = words(f"warmup.{pattern}", key=key_name(key, words, plain=pattern == "arpeggio"))
    return words("warmup.title", name=name, octaves=words(f"warmup.octaves_{octaves}"))
