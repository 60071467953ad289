"""The note of the drone that a passage is played over: the keynote of its key."""

from __future__ import annotations

from excerpts.excerpt import Excerpt
from excerpts.instruments.keys import Key, key_of_fifths, note_name
from excerpts.notes.in_force import signs_at_box
from excerpts.variants import parse_variant
from excerpts.warmups.heard import heard_key
from excerpts.words import Words


def keynote(excerpt: Excerpt) -> Key | None:
    """The key of a passage: as its signature says, else as its notes say; None where they leave it open."""
    key = signs_at_box(excerpt, excerpt.tree()).key
    mode = "" if key is None else (key.findtext("mode") or "").strip()
    fifths = "" if key is None else (key.findtext("fifths") or "").strip()
    if mode in {"major", "minor"} and fifths.lstrip("+-").isdecimal() and abs(int(fifths)) <= 7:
        return key_of_fifths(int(fifths), "major" if mode == "major" else "minor")
    heard = heard_key(excerpt)
    return None if heard is None or heard.sure == "unsure" else heard.key


def drone_named(instruction: str, variant: str, excerpt: Excerpt, words: Words) -> str:
    """An instruction with the note of its drone in front: "Drone: G. Play …"; any other as it is.

    Args:
        instruction: What to do in the variant.
        variant: The variant, as written.
        excerpt: The passage.
        words: Texts of the player.
    """
    if all(step.variant.info.name != "drone" for step in parse_variant(variant)):
        return instruction
    key = keynote(excerpt)
    return (
        instruction
        if key is None
        else f"{words('variant.drone.note', note=note_name(key, words))} {instruction}"
    )
