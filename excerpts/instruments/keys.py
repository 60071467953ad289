"""Keys as musicians name them, their signatures, and the spelling of their scales."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final, Literal, get_args

from excerpts.errors import WarmupError
from excerpts.musicxml.pitch import STEP_SEMITONES, STEPS, Pitch
from excerpts.words import Words, other_languages

ScaleMode = Literal["major", "natural minor", "harmonic minor", "melodic minor"]
ChurchMode = Literal["dorian", "phrygian", "lydian", "mixolydian", "locrian"]
Mode = ScaleMode | ChurchMode
MODES: Final[tuple[ScaleMode, ...]] = get_args(ScaleMode)
CHURCH_MODES: Final[tuple[ChurchMode, ...]] = get_args(ChurchMode)
"""Beside these, the ionian mode is the major scale and the aeolian the natural minor one."""

_FIFTHS_ORDER = "FCGDAEB"
_STEPS_UP: Final[dict[Mode, tuple[int, ...]]] = {
    "major": (0, 2, 4, 5, 7, 9, 11),
    "natural minor": (0, 2, 3, 5, 7, 8, 10),
    "harmonic minor": (0, 2, 3, 5, 7, 8, 11),
    "melodic minor": (0, 2, 3, 5, 7, 9, 11),
    "dorian": (0, 2, 3, 5, 7, 9, 10),
    "phrygian": (0, 1, 3, 5, 7, 8, 10),
    "lydian": (0, 2, 4, 6, 7, 9, 11),
    "mixolydian": (0, 2, 4, 5, 7, 9, 10),
    "locrian": (0, 1, 3, 5, 6, 8, 10),
}
"""Semitones of the seven degrees above the tonic, going up (the textbook forms)."""

_STEPS_DOWN: Final[dict[Mode, tuple[int, ...]]] = _STEPS_UP | {"melodic minor": _STEPS_UP["natural minor"]}
"""The same, going down."""

_LESS_THAN_MAJOR: Final[dict[Mode, int]] = {
    "lydian": -1, "major": 0, "mixolydian": 1, "dorian": 2, "natural minor": 3, "harmonic minor": 3,
    "melodic minor": 3, "phrygian": 4, "locrian": 5,
}  # fmt: skip
"""How many sharps fewer (or flats more) a signature has than that of the major key on the same tonic."""


@dataclass(frozen=True, slots=True)
class Key:
    """A key: the letter of its tonic, the tonic's alteration in semitones, and the mode."""

    step: str
    alter: int
    mode: Mode

    @property
    def is_minor(self) -> bool:
        """Any of the three minors."""
        return self.mode.endswith("minor")

    @property
    def xml_mode(self) -> str:
        """The mode as MusicXML's `<mode>` names it; the three minors share one name."""
        return "minor" if self.is_minor else self.mode

    @property
    def fifths(self) -> int:
        """Key signature: sharps, or flats below zero. The three minors share the natural minor's."""
        return _FIFTHS_ORDER.index(self.step) - 1 + 7 * self.alter - _LESS_THAN_MAJOR[self.mode]

    @property
    def tonic_class(self) -> int:
        """Semitones of the tonic above C, 0 to 11."""
        return (STEP_SEMITONES[self.step] + self.alter) % 12

    def tonic(self, octave: int) -> Pitch:
        """The tonic in an octave."""
        return Pitch(self.step, octave, Fraction(self.alter))

    def degree(self, number: int, octave: int, *, down: bool = False) -> Pitch:
        """Spell a degree, one letter each.

        Args:
            number: 0 is the tonic of `octave`, 7 the tonic above it.
            octave: Octave number of the tonic counted from.
            down: In the form used going down (the melodic minor's differs).
        """
        return _degree(self, number, octave, down)

    def __str__(self) -> str:
        return f"{_tonic_text(self.step, self.alter)} {self.mode}"


@lru_cache(maxsize=4096)
def _degree(key: Key, number: int, octave: int, down: bool) -> Pitch:
    """What `Key.degree` gives; kept, because every warm-up asks for the same few notes again and again."""
    octaves, place = divmod(number, 7)
    letters = STEPS.index(key.step) + place
    step = STEPS[letters % 7]
    written_octave = octave + octaves + letters // 7
    tonic = key.tonic(octave + octaves)
    wanted = tonic.midi + (_STEPS_DOWN if down else _STEPS_UP)[key.mode][place]
    return Pitch(step, written_octave, wanted - Pitch(step, written_octave).midi)


_WRITTEN = re.compile(
    r"(?P<letter>[A-Za-z])(?P<sign>##|bb|[#b♯♭x]|[\s-]*(?:double[\s-]*)?(?:flat|sharp)\b)?[\s-]*(?P<mode>.*)",
    re.IGNORECASE,
)
_SIGNS = {"": 0, "#": 1, "♯": 1, "sharp": 1, "##": 2, "x": 2, "doublesharp": 2}
_SIGNS |= {"b": -1, "♭": -1, "flat": -1, "bb": -2, "doubleflat": -2}
_MODE_NAMES: Final[dict[str, Mode]] = {
    "major": "major",
    "maj": "major",
    "minor": "melodic minor",
    "min": "melodic minor",
    "m": "melodic minor",
    "natural minor": "natural minor",
    "minor natural": "natural minor",
    "harmonic minor": "harmonic minor",
    "minor harmonic": "harmonic minor",
    "harmonic": "harmonic minor",
    "melodic minor": "melodic minor",
    "minor melodic": "melodic minor",
    "melodic": "melodic minor",
    "ionian": "major",
    "aeolian": "natural minor",
    **{mode: mode for mode in CHURCH_MODES},
}
_EXAMPLES = "Write it as D, Bb, 'F# minor' or 'A-flat harmonic minor'."


def parse_key(text: str) -> Key:
    """Read a key as a musician says it: "D", "Bb", "F# minor", "A-flat melodic minor", "c minor".

    The names of every language that has a words file are read too ("H-Dur", "d-moll").
    A letter alone means major, and plain minor is the melodic. A small letter alone is refused: some write
    minor keys so, others only forgot the shift key.

    Raises:
        WarmupError: It names no key, or one that does not exist (with the usual name for it).
    """
    step, alter, named = _split(text)
    mode = _mode(text, named)
    if step == "H" and mode is not None:
        raise WarmupError(
            f"there is no H in English: '{text}' is the German name.",
            hint="German H is B (write 'B major', or in full 'H-Dur'), German B is B-flat (write 'Bb', or 'B-Dur').",
        )
    if mode is None and (key := _other_keys().get(_folded(text))):
        return _existing(key)
    if step not in STEPS or mode is None:
        raise WarmupError(f"'{text}' is not a key.", hint=_EXAMPLES)
    if text.strip()[0].islower() and not named:
        tonic = _tonic_text(step, alter)
        raise WarmupError(
            f"'{text}' could be major or minor.", hint=f"Write '{tonic} major' or '{tonic} minor'."
        )
    return _existing(Key(step, alter, mode))


@lru_cache(maxsize=1)
def _other_keys() -> dict[str, Key]:
    """Keys by their names in every other language that has a words file; plain minor is the melodic."""
    keys = [Key(step, alter, mode) for step in STEPS for alter in (-1, 0, 1) for mode in _STEPS_UP]
    named = {_folded(key_name(key, words)): key for words in other_languages() for key in keys}
    plain = [key for key in keys if key.mode == "melodic minor"]
    return named | {
        _folded(key_name(key, words, plain=True)): key for words in other_languages() for key in plain
    }


def _folded(text: str) -> str:
    return " ".join(re.split(r"[\s-]+", text.strip().casefold()))


def parse_root(text: str) -> Key:
    """Read the note that a chromatic scale or a chord of sevenths starts on: "G", "Eb", "G#", "F# minor".

    What it is called by is its first note, so a mode says nothing here; a small letter alone will do.

    Returns:
        The major key of that note, although its signature may not exist (G-sharp).

    Raises:
        WarmupError: It names no note that scales start on.
    """
    step, alter, named = _split(text)
    if step == "H" or step not in STEPS or (named and _mode(text, named) is None):
        return parse_key(text)  # which says what is wrong
    root = Key(step, alter, "major")
    if -7 <= root.fifths <= 10:
        return root
    usual = next(
        other
        for other in (Key(letter, sign, "major") for sign in (0, -1, 1) for letter in STEPS)
        if other.tonic_class == root.tonic_class and abs(other.fifths) <= 7
    )
    raise WarmupError(
        f"no scale starts on {_tonic_text(step, alter)}.", hint=f"The usual name is {tonic_name(usual)}."
    )


def tonic_name(key: Key) -> str:
    """The tonic as messages name it: "A-flat"."""
    return _tonic_text(key.step, key.alter)


def _split(text: str) -> tuple[str, int, str]:
    """The letter as a capital, the alteration, and the words after them."""
    match = _WRITTEN.fullmatch(text.strip())
    if not match:
        raise WarmupError(f"'{text}' is not a key.", hint=_EXAMPLES)
    alter = _SIGNS[re.sub(r"[\s-]", "", (match["sign"] or "").lower())]
    return match["letter"].upper(), alter, match["mode"]


def _mode(text: str, named: str) -> Mode | None:
    """The mode of the words after the tonic; None when they name none."""
    if named == "M":
        raise WarmupError(f"'{text}' could be read as major or minor.", hint=_EXAMPLES)
    return _MODE_NAMES.get(" ".join(re.split(r"[\s-]+", named.lower()))) if named else "major"


def _existing(key: Key) -> Key:
    """The key itself, when its signature has at most seven sharps or flats."""
    if abs(key.fifths) <= 7:
        return key
    usual = next(
        other
        for other in (Key(step, alter, key.mode) for alter in (0, -1, 1) for step in STEPS)
        if other.tonic_class == key.tonic_class and abs(other.fifths) <= 7
    )
    count = abs(key.fifths)
    signs = "sharps" if key.fifths > 0 else "flats"
    raise WarmupError(f"{key} would need {count} {signs}.", hint=f"The usual name is {usual}.")


def key_of_fifths(fifths: int, mode: Literal["major", "minor"] = "major") -> Key:
    """Name the key of a signature.

    Args:
        fifths: Sharps, or flats below zero, -7 to 7.
        mode: Which of the two keys of the signature; a minor one comes as natural minor.

    Raises:
        WarmupError: There is no such signature.
    """
    if abs(fifths) > 7:
        raise WarmupError(
            f"there is no key signature of {abs(fifths)} {'sharps' if fifths > 0 else 'flats'}."
        )
    place = fifths + 1 + (3 if mode == "minor" else 0)
    alter, index = divmod(place, 7)
    return Key(_FIFTHS_ORDER[index], alter, "major" if mode == "major" else "natural minor")


def signature_name(fifths: int, mode: str, words: Words) -> str:
    """Name a key signature for print: the key of a major or minor mode, else its sharps or flats (-7 to 7)."""
    if mode in ("major", "minor"):
        key = key_of_fifths(fifths, "minor" if mode == "minor" else "major")
        return key_name(key, words, plain=True)
    kind, count = "sharp" if fifths > 0 else "flat", abs(fifths)
    message = f"signature_{kind}s" if count > 1 else f"signature_one_{kind}" if count else "signature_none"
    return words(f"workbook.{message}", n=count)


def key_name(key: Key, words: Words, *, plain: bool = False) -> str:
    """Name a key for print: "F-sharp harmonic minor".

    Args:
        key: The key.
        words: Texts of the player.
        plain: Leave out which minor it is: a piece is in A minor, only a scale is melodic.
    """
    kind = "minor" if plain and key.is_minor else key.mode.replace(" ", "_")
    return words(f"key.{kind}", tonic=note_name(key, words))


def note_name(key: Key, words: Words) -> str:
    """Name the tonic for print: "F-sharp"; a language may have names of its own ("Fis", "fis" in minor)."""
    sign = {1: "sharp", -1: "flat"}.get(key.alter)
    own = f"key.{'minor' if key.is_minor else 'major'}_tonic.{key.step}{f'-{sign}' if sign else ''}"
    if own in words:
        return words(own)
    return words(f"key.{sign}", letter=key.step) if sign else key.step


def _tonic_text(step: str, alter: int) -> str:
    return step + {-2: "-double-flat", -1: "-flat", 0: "", 1: "-sharp", 2: "-double-sharp"}[alter]
