"""Contact sheets of every variant that fits some passages, to be looked at after a change of what is printed.

`nice python -m tests.gallery OUT [WORD…]` writes a PDF and pictures of its pages for each passage whose name has one
of the words in it, and says which variants did not fit. Ask of each picture: would a string teacher have written it
so, would an engraver, can a pupil read it at sight?
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

from tests.music import DIVISIONS, part, score
from tests.notes.sources import corpus

SCORES = Path(__file__).parent.parent / "scores"


class Passage(NamedTuple):
    """Bars of a score: a file, or the text of one with its ending."""

    source: Path | str
    bars: str
    part: str = "#1"
    ending: str = ".abc"


_TRIPLETS = """X:1
T:Triplets
M:4/4
L:1/8
Q:1/4=80
K:G
G4 G4 | GABc dcBA | (3GAB (3cde (3fed (3cBA | G2 (3ABc d4 | GABc dBcA | G8 |]
"""
_SICILIANO = """X:1
T:Siciliano
M:6/8
L:1/8
Q:3/8=40
K:G
d3 g3 | B>cd d>ed | e>dc B>AG | A>Bc d3 | G6 |]
"""
_SEVEN = """X:1
T:Seven
M:7/8
L:1/8
Q:1/8=200
K:D
DEF GA Bc | (dc)B (AG) (FE) | D3 E2 F2 | G2 FEDEF | A7 |]
"""
_FIVE = """X:1
T:Five
M:5/4
L:1/8
Q:1/4=100
K:Em
EFGA BcBA GF | E2G2B2 e2d2 | B4 A6 | (3EFG (3ABc (3dcB A2 G2 |]
"""
_DOTTED = """X:1
T:Dotted
M:4/4
L:1/8
Q:1/4=80
K:D
A8 | d>e f>g a>f d>A | B3 c d3 A | (B>c) (d>e) f2 e2 | d4 z d/e/ fg | (a/g/f/e/ d/c/B/A/) G/A/B/c/ d2 | D8 |]
"""


def _written(name: str, time: str, clef: str, fifths: int, *bars: str) -> str:
    """A short score for an instrument; the clef is its letter and line, as "C3"."""
    beats, unit = time.split("/")
    first = (
        f"<attributes><divisions>{DIVISIONS}</divisions><key><fifths>{fifths}</fifths></key>"
        f"<time><beats>{beats}</beats><beat-type>{unit}</beat-type></time>{_clef(clef)}</attributes>"
    )
    return score(part([f"{first} {bars[0]}", *bars[1:]]), names=(name,)).decode()


def _clef(clef: str) -> str:
    return f"<clef><sign>{clef[0]}</sign><line>{clef[1]}</line></clef>"


def _fingered(text: str) -> str:
    """Notes with what stands behind a slash as a sign: a finger, "^" or "v" for the bow, "T" for the thumb."""
    return " ".join(_signed(*token.split("/")) if "/" in token else token for token in text.split())


def _signed(note: str, sign: str) -> str:
    names = {"^": "<up-bow/>", "v": "<down-bow/>", "T": "<thumb-position/>"}
    inside = names.get(sign, f"<fingering>{sign}</fingering>")
    return f"{note}[<notations><technical>{inside}</technical></notations>]"


_TO_TREBLE = f"<attributes>{_clef('G2')}</attributes>"
_TO_TENOR = f"<attributes>{_clef('C4')}</attributes>"


def _cued(*notes: str) -> str:
    """Cue notes of another part."""
    bodies = (part([one]).partition("<note>")[2].partition("</note>")[0] for one in notes)
    return "".join(f"<note><cue/>{body}</note>" for body in bodies)


_CELLO_WORD = "<direction><direction-type><words>Cello</words></direction-type></direction>"
_OWN_SCORES = {
    "paper-boats": ("1-4", "paper-boats.musicxml"),
    "evening-ferry": ("13-16", "evening-ferry.musicxml"),
    "gale-15": ("15:3-16:2", "gale-concerto-1.musicxml"),
    "gale-C": ("C+7-C+8", "gale-concerto-1.musicxml"),
    "mill-wheel": ("1-4", "mill-wheel-dance.mxl"),
    "loom": ("1-2", "loom-study.musicxml"),
}


def passages() -> dict[str, Passage]:
    """The passages by name."""
    quartets = corpus() / "beethoven"
    k458 = corpus() / "mozart" / "k458" / "movement1.mxl"
    found = {name: Passage(SCORES / file, bars) for name, (bars, file) in _OWN_SCORES.items()}
    found |= {
        "k458-1": Passage(k458, "22-26"),
        "k458-4": Passage(k458, "66-67", "#4"),
        "op18-1": Passage(quartets / "opus18no1" / "movement1.mxl", "1-6"),
        "op18-4": Passage(quartets / "opus18no4.mxl", "536-540"),
        "op59-1": Passage(quartets / "opus59no1" / "movement1.mxl", "74-75"),
        "triplets": Passage(_TRIPLETS, "2-5"),
        "siciliano": Passage(_SICILIANO, "1-4"),
        "seven": Passage(_SEVEN, "1-4"),
        "five": Passage(_FIVE, "1-4"),
        "dotted": Passage(_DOTTED, "2-6"),
    }
    typed: dict[str, tuple[str, str, str, int, *tuple[str, ...]]] = {
        "first-year": ("Violin", "4/4", "G2", 2, "D4:1 D4:1 A4:1 A4:1", "E5:1 E5:1 A4:2", "D4:1 A4:1 D4:1 r:1"),
        "alto-treble": (
            "Viola", "3/4", "C3", 1, "G4:.5 A4:.5 B4:.5 C5:.5 D5:.5 E5:.5",
            f"{_TO_TREBLE} F#5:.5 G5:.5 A5:.5 G5:.5 F#5:.5 E5:.5", "D5:2 r:1",
        ),
        "tenor-thumb": (
            "Cello", "4/4", "F4", 0, _fingered("C4:.5/1 D4:.5/2 E4:.5/4 D4:.5 C4:.5 B3:.5 C4:.5 D4:.5"),
            f"{_TO_TENOR} " + _fingered("A4:.5/T B4:.5/1 C5:.5/2 D5:.5/3 C5:.5 B4:.5 A4:1/T"), "A3:4",
        ),
        "bass-124": (
            "Double Bass", "4/4", "F4", 1,
            _fingered("G2:.5/2 A2:.5/0 B2:.5/1 C3:.5/2 D3:.5/0 E3:.5/1 F#3:.5/4 G3:.5/0"),
            _fingered("G3:.5/0 F#3:.5/4 E3:.5/1 D3:.5/0 C3:.5/2 B2:.5/1 A2:.5/0 G2:.5/2"), "G2:4",
        ),
        "double-stops": (
            "Violin", "3/4", "G2", 0, "G3+E4:.5 A3+F4:.5 B3+G4:.5 C4+A4:.5 D4+B4:.5 E4+C5:.5",
            "D4+B4:1 C4+A4:1 B3+G4:1", "A3+E4:3",
        ),
        "up-bow-pickup": (
            "Violin", "3/4", "G2", 1, _fingered("D4:.5/^ G4:.5"), _fingered("B4:1/v A4:.5 G4:.5 F#4:.5 E4:.5"),
            "D4:.5 E4:.5 F#4:.5 G4:.5 A4:.5 B4:.5", "G4:3",
        ),
        "cues": (
            "Viola", "4/4", "C3", 0, f"{_CELLO_WORD} {_cued('C3:1', 'D3:1', 'E3:1', 'F3:1')}",
            "C4:.5 D4:.5 E4:.5 F4:.5 G4:.5 F4:.5 E4:.5 D4:.5", "C4:2 r:2",
        ),
    }  # fmt: skip
    return found | {name: Passage(_written(*how), "1-2", ending=".musicxml") for name, how in typed.items()}


def make(folder: Path, name: str, passage: Passage) -> int:
    """Write the sheet of a passage and the pictures of its pages; how many pages."""
    source = passage.source
    if isinstance(source, str):
        text, source = source, folder / f"{name}{passage.ending}"
        source.write_text(text, encoding="utf-8")
    sheet = folder / f"{name}.pdf"
    command = ["variants", str(source), passage.bars, "--part", passage.part, "-o", str(sheet), "--force"]
    done = subprocess.run(
        [sys.executable, "-c", "import sys; from excerpts.cli import run; sys.exit(run())", *command],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    print(f"== {name}, {passage.bars}\n{done.stderr}", end="")
    if done.returncode:
        return 0
    subprocess.run(["pdftoppm", "-r", "100", "-png", str(sheet), str(folder / name)], check=True)
    return len(list(folder.glob(f"{name}-[0-9]*.png")))


def main(out: str, *words: str) -> None:
    """Write the sheets of all passages, or of those whose names have one of the words in them."""
    folder = Path(out)
    folder.mkdir(parents=True, exist_ok=True)
    chosen = {name: one for name, one in passages().items() if not words or any(w in name for w in words)}
    pages = {name: make(folder, name, one) for name, one in chosen.items()}
    print(", ".join(f"{name} {count}" for name, count in pages.items()), f"= {sum(pages.values())} pages")


if __name__ == "__main__":
    main(*sys.argv[1:])
