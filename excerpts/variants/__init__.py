"""Practice variants of passages: rhythms, bowings, tempo steps."""

from excerpts.variants.grammar import for_player, in_double_values, parse_variant
from excerpts.variants.registry import VariantInfo, variants
from excerpts.variants.tempo_steps import METRONOME_NUMBERS, slow_start, tempo_steps
from excerpts.variants.vary import vary
from excerpts.variants.wording import instruction, title

__all__ = [
    "METRONOME_NUMBERS",
    "VariantInfo",
    "for_player",
    "in_double_values",
    "instruction",
    "parse_variant",
    "slow_start",
    "tempo_steps",
    "title",
    "variants",
    "vary",
]
