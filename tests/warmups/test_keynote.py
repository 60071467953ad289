"""The drone of a passage is named by its note: the keynote at the first note of the box."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from excerpts.cli import main
from excerpts.excerpt import Excerpt
from excerpts.score import score_from_bytes
from excerpts.warmups import warmup
from excerpts.warmups.heard_key import drone_named, keynote
from excerpts.warmups.warmup_names import keynote_told
from excerpts.words import Words
from tests.music import bars_of
from tests.pdf_text import text_of

CHANGE = "<attributes><key><fifths>-1</fifths><mode>minor</mode></key></attributes>"
MUSIC = bars_of("D5:4", f"{CHANGE} A4:4", "D5:4").replace(
    b"<fifths>2</fifths>", b"<fifths>1</fifths><mode>major</mode>"
)


def cut(address: str) -> Excerpt:
    return score_from_bytes(MUSIC, "x").part("#1").passage(address).cut(1)


@pytest.mark.parametrize(
    ("address", "words", "said"),
    [("1", "uk", "Drone: G. Play."), ("2", "uk", "Drone: D. Play."), ("2-3", "de", "Bordun: d. Play.")],
)
def test_the_drone_names_its_note(address: str, words: str, said: str) -> None:
    assert drone_named("Play.", "drone", cut(address), Words(words)) == said


def test_other_variants_say_what_they_say() -> None:
    assert drone_named("Play.", "sing", cut("1"), Words()) == "Play."


def test_a_signature_without_a_mode_is_heard() -> None:
    found = keynote(warmup("Eb", pattern="scale"))
    assert found is not None
    assert (found.step, found.alter) == ("E", -1)


G_SCALE = "G3:.5 A3:.5 B3:.5 C4:.5 D4:.5 E4:.5 F#4:.5 G4:.5"
C_STOPS = "G3+E4:.5 A3+F4:.5 B3+G4:.5 C4+A4:.5 D4+B4:.5 E4+C5:.5 r:1"


@pytest.mark.parametrize(
    ("fifths", "bars", "named"),
    [
        (1, (G_SCALE, "A4:.5 B4:.5 C5:.5 D5:.5 E5:.5 F#5:.5 G5:1"), "G"),
        (1, ("G4:.5 A4:.5 B4:.5 C5:.5 D5:.5 E5:.5 r:1", "F#5:.5 G5:.5 A5:.5 G5:.5 F#5:.5 E5:.5 r:1"), "G"),
        (0, (C_STOPS, "D4+B4:1 C4+A4:1 B3+G4:1 r:1"), "C"),
        (1, ("E4:1 F#4:1 G4:1 A4:1", "B4:1 C5:1 D5:1 E5:1"), "E"),
        (0, ("A4:1 E5:1 C5:1 A4:1", "B4:1 G#4:1 B4:1 E5:1"), "A"),
    ],
    ids=(
        "scale",
        "a scale that breaks off",
        "double stops",
        "a minor scale that ends on its keynote",
        "a minor key with its leading note",
    ),
)
def test_a_score_that_says_no_mode_is_in_major_unless_its_notes_are_clearly_minor(
    fifths: int, bars: tuple[str, ...], named: str
) -> None:
    """Scales have the notes of two keys; what is expected is what a teacher would say: common practice, no source."""
    data = bars_of(*bars).replace(b"<fifths>2</fifths>", b"<fifths>%d</fifths>" % fifths)
    assert b"<mode>" not in data
    found = keynote(score_from_bytes(data, "x").part("#1").passage("1-2").cut())
    assert found is not None
    assert found.step == named


@pytest.mark.parametrize("pattern", ["chromatic", "diminished-seventh", "dominant-seventh", "scale"])
@pytest.mark.parametrize("key", ["G", "Bb", "E"])
def test_a_warm_up_of_ours_knows_its_keynote(pattern: str, key: str) -> None:
    """The dominant seventh leads to another key, which its signature tells."""
    found = keynote(warmup(key, pattern=pattern))
    assert found is not None
    told = {"G": "C", "Bb": "E", "E": "A"}[key] if pattern == "dominant-seventh" else key[0]
    assert found.step == told


def test_a_field_of_another_program_is_no_keynote() -> None:
    made = warmup("G", pattern="chromatic")
    other = replace(made, xml=made.xml.replace(b'name="keynote">G<', b'name="keynote">?!<'))
    assert other.xml != made.xml
    assert keynote_told(other) is None


def test_what_is_left_open_is_not_named() -> None:
    two_notes = score_from_bytes(bars_of("D5:4", "A4:4"), "x").part("#1").passage("1-2").cut()
    assert keynote(two_notes) is None
    assert drone_named("Play.", "drone", two_notes, Words()) == "Play."


def test_a_cut_tells_it(tmp_path: Path) -> None:
    (tmp_path / "x.musicxml").write_bytes(MUSIC)
    out = tmp_path / "x.pdf"
    assert main(["cut", str(tmp_path / "x.musicxml"), "2-3", "--variant", "drone", "-o", str(out)]) == 0
    assert "Drone: D. Play slowly over a drone on the keynote" in text_of(out)
