"""Which variants go together, and the reason why others do not (default tier)."""

from __future__ import annotations

import pytest

from excerpts.errors import VariantError
from excerpts.variants import parse_variant, vary
from tests.variants.music import passage, pitches


@pytest.mark.parametrize(
    "text",
    [
        "separate+long-short", "separate+long-short+hooked", "slur:2+long-short", "lower-line+open-strings",
        "repeat:2+long-short", "long-short+add-a-note", "rhythm:3-1+doubled+short", "slow:60+separate",
        "separate+separate", "as-written+slow:60", "outline+backwards", "portato:4+accent",
    ],
)  # fmt: skip
def test_what_goes_together(text: str) -> None:
    assert len(parse_variant(text)) == text.count("+") + 1


@pytest.mark.parametrize(
    ("text", "reason", "hint"),
    [
        (
            "long-short+short-long",
            "each give the notes another rhythm",
            "two variants: long-short and short-long",
        ),
        ("burst:4+rhythm:3-1", "'burst' and 'rhythm' each give", "two variants"),
        ("add-a-note+backwards", "each play the passage in steps", "two variants"),
        ("add-a-note+long-short", "the steps of 'add-a-note' come last", r"Write long-short\+add-a-note"),
        ("backwards+slur:2", "come last", r"Write slur:2\+backwards"),
        ("slur:2+portato:4", "each set a new bowing for the runs", "two variants"),
        ("slur:4+separate", "'separate' takes off the slurs", r"separate\+slur:4"),
        ("open-strings+left-hand", "each take one hand away", "two variants"),
        ("open-strings+ringing", "on open strings there is no left hand", "Leave one"),
        ("lower-line+upper-line", "each choose which notes", "two variants"),
        ("slow:60+half-and-full", "each set the tempo", "two variants"),
        ("short+long-short", "'short' leaves out the bars", r"long-short\+short"),
        ("add-a-beat+short", "nothing to go on like", "Leave 'short' out"),
        ("long-short+acceleration", "each give the notes another rhythm", "two variants"),
        ("long-short+long-short", "is in it twice", "Write long-short once"),
        ("doubled+doubled", "is in it twice", "once"),
    ],
)
def test_what_makes_no_sense_is_refused_with_the_reason(text: str, reason: str, hint: str) -> None:
    with pytest.raises(VariantError, match=f"'{text.split('+')[0]}.*makes no sense: .*{reason}.*{hint}"):
        parse_variant(text)


def test_separate_twice_is_separate() -> None:
    source = passage("4/4", "(C4/1/2 D4 E4) F4 (G4^ A4) B4 C5")
    once = vary(source, "separate")
    assert vary(source, "separate+separate").xml == once.xml == vary(once, "separate").xml
    assert pitches(once) == pitches(source)
