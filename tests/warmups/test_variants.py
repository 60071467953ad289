"""Variants of warm-ups: every one applies to every pattern, and the notes stay. Default tier."""

from __future__ import annotations

from functools import cache

import pytest
from lxml import etree

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.instruments.instrument import LEVELS
from excerpts.warmups import warmup
from tests.schema import schema_errors

NAMES = ["as-written", "slow", "separate", "long-short", "short-long"]
PATTERNS = ["scale", "arpeggio"]


def pitches(excerpt: Excerpt) -> list[str]:
    return [etree.tostring(pitch, method="c14n").decode() for pitch in excerpt.tree().iter("pitch")]


@pytest.mark.parametrize("name", [*NAMES, "separate+long-short"])
@pytest.mark.parametrize("pattern", PATTERNS)
@pytest.mark.parametrize(("level", "octaves"), [("first", 1), ("middle", 1), ("middle", 2), ("upper", 3)])
def test_every_variant_fits_every_layout(name: str, pattern: str, level: str, octaves: int) -> None:
    plain = warmup("G minor", level=level, octaves=octaves, pattern=pattern)
    varied = warmup("G minor", level=level, octaves=octaves, pattern=pattern, variant=name)
    assert schema_errors(varied.xml) == []
    assert pitches(varied) == pitches(plain)
    assert varied.origin.variant == name
    assert sum(bar.length for bar in varied.bars) % varied.bars[0].length == 0


def types(excerpt: Excerpt) -> list[str]:
    """Written lengths, with a dot for each dot: "quarter.", "eighth"."""
    notes = excerpt.tree().iter("note")
    return [(note.findtext("type") or "") + "." * len(note.findall("dot")) for note in notes]


def test_long_short_on_a_first_scale() -> None:
    expected = ["quarter.", "eighth"] * 7 + ["half"]
    assert types(warmup("D", level="first", variant="long-short")) == expected


def test_long_short_on_a_scale_of_quavers() -> None:
    expected = ["eighth.", "16th"] * 14 + ["half"]
    assert types(warmup("D", level="middle", octaves=2, variant="long-short")) == expected


def test_long_short_on_an_arpeggio_takes_a_metre_of_twos() -> None:
    excerpt = warmup("D", level="middle", octaves=2, pattern="arpeggio", variant="long-short")
    assert excerpt.tree().findtext(".//beats") == "3"
    assert types(excerpt) == ["eighth.", "16th"] * 6 + ["half."]


def test_an_unknown_variant_is_refused_with_what_there_is() -> None:
    with pytest.raises(VariantError, match="long-short"):
        warmup("D", variant="long-shrt")


@cache
def _plain(key: str, instrument: str, level: str, pattern: str) -> Excerpt:
    return warmup(key, instrument=instrument, level=level, pattern=pattern)


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("name", NAMES)
def test_every_variant_at_every_level(level: str, name: str) -> None:
    """Default octaves of two keys on the four instruments."""
    for instrument in ("violin", "viola", "cello", "bass"):
        for key in ("F#", "Bb minor"):
            for pattern in ("scale", "arpeggio"):
                plain = _plain(key, instrument, level, pattern)
                varied = warmup(key, instrument=instrument, level=level, pattern=pattern, variant=name)
                assert schema_errors(varied.xml) == []
                assert pitches(varied) == pitches(plain)
