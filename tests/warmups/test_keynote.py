"""The drone of a passage is named by its note: the keynote at the first note of the box."""

from __future__ import annotations

import io
from pathlib import Path

import pdfplumber
import pytest

from excerpts.cli import main
from excerpts.excerpt import Excerpt
from excerpts.score import score_from_bytes
from excerpts.warmups import warmup
from excerpts.warmups.heard_key import drone_named, keynote
from excerpts.words import Words
from tests.music import bars_of

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


def test_what_is_left_open_is_not_named() -> None:
    two_notes = score_from_bytes(bars_of("D5:4", "A4:4"), "x").part("#1").passage("1-2").cut()
    assert keynote(two_notes) is None
    assert drone_named("Play.", "drone", two_notes, Words()) == "Play."


def test_a_cut_tells_it(tmp_path: Path) -> None:
    (tmp_path / "x.musicxml").write_bytes(MUSIC)
    out = tmp_path / "x.pdf"
    assert main(["cut", str(tmp_path / "x.musicxml"), "2-3", "--variant", "drone", "-o", str(out)]) == 0
    with pdfplumber.open(io.BytesIO(out.read_bytes())) as file:
        assert "Drone: D. Play slowly over a drone on the keynote" in file.pages[0].extract_text()
