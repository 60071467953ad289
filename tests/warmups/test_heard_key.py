"""The key of music by signature and notes. Default tier."""

from __future__ import annotations

import pytest

from excerpts.excerpt import Excerpt
from excerpts.instruments.keys import Key, parse_key
from excerpts.score import score_from_bytes
from excerpts.score.abc import from_abc
from excerpts.warmups import warmup
from excerpts.warmups.heard_key import HeardKey, heard_key
from tests.instruments.test_keys import KEYS
from tests.music import bars_of


def typed(abc: str) -> Excerpt:
    part = from_abc(abc, name="test").part("#1")
    return part.passage(f"@1-@{len(part.bars)}").cut(0)


@pytest.mark.parametrize(
    ("abc", "key", "how"),
    [
        ("M:4/4\nL:1/4\nK:D\nD F A d | c B A G | F G A F | E D C D | A B c d | d4 |", "D major", "agree"),
        ("M:4/4\nL:1/4\nK:G\nE F G A | B A G F | E ^D E B | e d c B | A G F ^D | E4 |", "E minor", "agree"),
        (
            "M:4/4\nL:1/4\nK:C\nD ^F A d | ^c B A G | ^F G A ^F | E D ^C D | A B ^c d | d4 |",
            "D major",
            "notes",
        ),
        ("M:4/4\nL:1/4\nK:Ab\nA B c d | e f g a | e c A c | B E G B | A4 |", "Ab major", "agree"),
    ],
)
def test_tunes_by_signature_and_notes(abc: str, key: str, how: str) -> None:
    """Tunes of our own with their key plain to hear: tonic triads, leading notes, endings on the tonic."""
    heard = heard_key(typed(abc))
    assert heard is not None
    assert (heard.key, heard.how) == (parse_key(key), how)


def test_few_notes_have_the_key_of_their_signature_and_are_unsure() -> None:
    heard = heard_key(typed("M:4/4\nL:1/4\nK:Eb\nE G B2 |"))
    assert heard == HeardKey(parse_key("Eb"), "signature", "unsure")


def test_only_the_box_is_heard() -> None:
    """In front of the box stands E major; the box itself is in C."""
    sharp = "E4:1 G#4:1 B4:1 E5:1"
    tonic = "C4:1 E4:1 G4:1 C5:1"
    scale = "B4:1 G4:1 F4:1 D4:1"
    key = "<attributes><key><fifths>0</fifths></key></attributes>"
    data = bars_of(sharp, f"{key} {tonic}", scale, tonic, sharp)
    part = score_from_bytes(data, "test").part()
    heard = heard_key(part.passage("2-4").cut(context=1))
    assert heard is not None
    assert heard.key == parse_key("C")


def test_silence_has_no_key() -> None:
    part = score_from_bytes(bars_of("r:4"), "test").part()
    assert heard_key(part.passage("1").cut(context=0)) is None


@pytest.mark.parametrize(
    "key", [key for key in KEYS if key.mode in {"major", "harmonic minor"}][::3], ids=str
)
def test_a_scale_and_its_arpeggio_are_heard_in_their_key(key: Key) -> None:
    """Spelling too: the key is told with the signature's own sharps or flats."""
    for pattern in ("arpeggio", "scale"):
        heard = heard_key(warmup(key, pattern=pattern, octaves=2, level="advanced"))
        assert heard is not None
        assert heard.key.fifths == key.fifths
        if pattern == "arpeggio":
            assert (heard.key.step, heard.key.is_minor) == (key.step, key.is_minor)
