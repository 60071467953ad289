"""One hand at a time, as a word to the player: the left hand alone, and the bow above the string.

The notes stay as they are. Common practice: the second is seen as a teacher's device, without a source.
"""

from __future__ import annotations

from excerpts.excerpt import Excerpt
from excerpts.practice.registry import Variant, VariantInfo


def as_printed(excerpt: Excerpt, parameter: str) -> Excerpt:
    """Leave the notes as they are."""
    del parameter
    return excerpt


VARIANTS = (
    Variant(
        VariantInfo(
            "left-hand", ("coordination", "shift", "intonation"), same_notes=True, order=94, kind="hand"
        ),
        on_excerpt=as_printed,
    ),
    Variant(
        VariantInfo(
            "silent-bow", ("coordination", "memory", "rhythm"), same_notes=True, order=95, kind="hand"
        ),
        on_excerpt=as_printed,
    ),
)
