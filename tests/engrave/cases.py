"""Engravings that several tests look at."""

from __future__ import annotations

from functools import lru_cache

from excerpts.engrave import Engraving, Style, engrave
from excerpts.excerpt import Excerpt
from tests.engrave.music import ALTO, BASS, excerpt

_WIDE = [
    "C5:q:f,slur A6:q:3,II C7:q:/slur D#7:q",
    "E7:h:up D7:q:1,III C5:q:2",
    "G3:q:ff A3:q:'Lé B3:q:'ti F#4:q:'cia,stacc",
    "C5:w:fermata",
]
_RUN = ["C5:e D5:e E5:e F5:e G5:e A5:e B5:e C6:e"]
CASES: dict[str, Excerpt] = {
    "two bars high and low": excerpt(_WIDE, [(1, 0, 2, None)], first=41, fifths=-2),
    "one bar": excerpt(_WIDE, [(1, 0, 1, None)], first=41),
    "from the first bar": excerpt(_WIDE, [(0, 0, 1, None)]),
    "to the last bar": excerpt(_WIDE, [(2, 0, 3, None)]),
    "beats": excerpt(_WIDE, [(1, 2, 2, 2)], first=7),
    "beats at an accidental": excerpt(
        ["C5:q F#5:q G5:q Bb5:q", "C5:e D5:e E5:e F5:e G5:q C5:q"], [(0, 1, 1, 1)]
    ),
    "two boxes": excerpt(_WIDE * 3, [(1, 0, 2, None), (5, 0, 9, None)], first=41, fifths=3),
    "boxes side by side": excerpt(_RUN * 6, [(1, 0, 2, None), (3, 0, 4, None)]),
    "sixteen bars": excerpt(_RUN * 18, [(1, 0, 16, None)], first=40),
    "cello": excerpt(
        ["C2:q:0 G2:q:thumb D3:q:thumb,I A3:q:1,II", "E3:h:slur G3:h:/slur", "C4:w", "C2:w"],
        [(1, 0, 2, None)],
        first=9,
        clef=BASS,
    ),
    "viola": excerpt(
        ['C3:q:"sul_C G3:q D4:q A4:q', "E4:h:slur G4:h:/slur", 'C5:w:"dolce', "C4:w"],
        [(0, 0, 3, None)],
        clef=ALTO,
    ),
    "words run past the box": excerpt(
        ["C5:w", 'G4:h C5:h:"sempre_molto_espressivo', "C5:w", "C5:w"], [(1, 0, 1, None)]
    ),
    "words run into the box": excerpt(
        ['C5:q:"Allegro_vivace_assai_e_con_molto_brio R:q R:h', "C5:w", "C5:w"], [(1, 0, 1, None)]
    ),
    "words run out of the box to the left and right": excerpt(
        ["C5:w", 'G4:q:"poco C5:q:p,"dolce C5:q C5:q:"molto_rit.', 'C5:w:"a_tempo', "C5:w"], [(1, 0, 1, None)]
    ),
    "no box": excerpt(["C5:q D5:q E5:q F5:q"] * 8),
}


@lru_cache(maxsize=64)
def engraved(name: str, **changes: object) -> Engraving:
    """One of the cases, engraved with boxes labelled 1, 2 …; `changes` are changes of the style."""
    music = CASES[name]
    labels = tuple(str(index + 1) for index in range(len(music.boxes)))
    return engrave(music, Style(**changes), labels)  # type: ignore[arg-type]
