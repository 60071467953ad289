"""Practice variants of passages: rhythms, bowings, tempo steps."""

from excerpts.practice.parse import in_double_values, parse_variant
from excerpts.practice.registry import VariantInfo, variants
from excerpts.practice.tempo import METRONOME_NUMBERS, slow_start, tempo_steps
from excerpts.practice.vary import vary
from excerpts.practice.wording import instruction, title

__all__ = [
    "METRONOME_NUMBERS",
    "VariantInfo",
    "in_double_values",
    "instruction",
    "parse_variant",
    "slow_start",
    "tempo_steps",
    "title",
    "variants",
    "vary",
]
