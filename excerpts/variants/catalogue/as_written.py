"""The passage as it stands."""

from __future__ import annotations

from excerpts.excerpt import Excerpt
from excerpts.variants.registry import Variant, VariantInfo


def as_written(excerpt: Excerpt, parameter: str) -> Excerpt:
    """Leave everything as it is."""
    del parameter
    return excerpt


VARIANT = Variant(
    VariantInfo("as-written", ("speed", "reading"), same_notes=True, order=10, again=True),
    on_excerpt=as_written,
)
