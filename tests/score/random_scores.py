"""Small scores made at random: one part with all that can cross a barline, and another that has tempo marks.

What a score has in it is told by a set of features, so that a failing one can be made smaller.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from fractions import Fraction

FEATURES = (
    "voices", "staves", "chords", "graces", "rests", "triplets", "ties", "slurs", "long slurs", "trills",
    "glissandi", "hairpins", "octave signs", "pedal", "dashes", "clefs", "keys", "metres", "divisions",
    "pickup", "endings", "repeats", "dynamics", "words", "tempo", "other tempo", "marks", "lyrics", "beams",
    "short voice", "split bar", "transposed", "harmony", "late directions", "closing graces",
    "graces elsewhere", "late divisions", "half brackets", "numbers once",
    "accidentals left out",
)  # fmt: skip

_TYPES = {
    Fraction(4): "whole", Fraction(2): "half", Fraction(1): "quarter", Fraction(1, 2): "eighth",
    Fraction(1, 4): "16th",
}  # fmt: skip
_STEPS = "CDEFGAB"
_CLEFS = ("<sign>G</sign><line>2</line>", "<sign>C</sign><line>3</line>", "<sign>F</sign><line>4</line>")


@dataclass
class _Note:
    bar: int
    onset: Fraction
    length: Fraction
    pitches: list[str]
    voice: str
    staff: int
    grace: bool = False
    triplet: int | None = None
    before: list[str] = field(default_factory=list)
    notations: list[list[str]] = field(default_factory=list)
    ties: list[set[str]] = field(default_factory=list)
    lyric: str = ""
    beam: str = ""

    def __post_init__(self) -> None:
        self.notations = [[] for _ in self.pitches] or [[]]
        self.ties = [set() for _ in self.pitches] or [set()]


class _Maker:
    def __init__(self, seed: int, bars: int, features: frozenset[str]) -> None:
        self.chance = random.Random(seed)
        self.count = bars
        self.features = features
        self.has = features.__contains__
        self.metres: list[tuple[int, int]] = []
        self.lengths: list[Fraction] = []
        self.divisions: list[int] = []
        self.lines: list[list[_Note]] = []
        self.omits = random.Random(seed)
        self.opening: list[str] = [""] * bars
        self.closing: list[str] = [""] * bars

    def maybe(self, name: str, odds: float = 0.3) -> bool:
        return self.has(name) and self.chance.random() < odds

    def make(self) -> bytes:
        self._plan_bars()
        self.lines = [self._line(voice, staff) for voice, staff in self._voices()]
        for line in self.lines:
            self._ties(line)
            self._note_spans(line)
        self._beside_notes()
        self._attributes()
        self._barlines()
        return self._document()

    def _voices(self) -> list[tuple[str, int]]:
        found = [("1", 1)]
        if self.has("voices"):
            found.append(("2", 1))
        if self.has("staves"):
            found.append(("5", 2))
        return found

    def _plan_bars(self) -> None:
        metre = self.chance.choice([(4, 4), (3, 4), (6, 8), (2, 2)])
        divisions = self.chance.choice([12, 24])
        for index in range(self.count):
            if index and self.maybe("metres"):
                metre = self.chance.choice([(4, 4), (3, 4), (5, 8)])
            if index and self.maybe("divisions"):
                divisions = self.chance.choice([12, 24, 120])
            self.metres.append(metre)
            self.divisions.append(divisions)
            full = Fraction(4 * metre[0], metre[1])
            first_is_short = index == 0 and self.has("pickup")
            split = 0 < index and self.maybe("split bar", 0.2)
            self.lengths.append(Fraction(1) if first_is_short or split else full)

    def _line(self, voice: str, staff: int) -> list[_Note]:
        found: list[_Note] = []
        for bar in range(self.count):
            at, end = Fraction(0), self.lengths[bar]
            if voice != "1" and self.maybe("short voice"):
                end = Fraction(1)
            while at < end:
                at = self._next(found, bar, at, end, voice, staff)
            if self.maybe("closing graces"):
                found.append(self._grace(bar, at, voice, staff))
        return found

    def _grace(self, bar: int, at: Fraction, voice: str, staff: int) -> _Note:
        """A grace note, which may stand on the other staff."""
        elsewhere = self.has("staves") and self.maybe("graces elsewhere", 0.5)
        return _Note(
            bar, at, Fraction(0), [self._pitch()], voice, 3 - staff if elsewhere else staff, grace=True
        )

    def _next(
        self, line: list[_Note], bar: int, at: Fraction, end: Fraction, voice: str, staff: int
    ) -> Fraction:
        if self.maybe("graces", 0.15):
            line.append(self._grace(bar, at, voice, staff))
        if end - at >= 1 and self.maybe("triplets", 0.2):
            for place in range(3):
                pitches = [] if self.maybe("rests", 0.2) else [self._pitch()]
                third = Fraction(1, 3)
                line.append(_Note(bar, at + place * third, third, pitches, voice, staff, triplet=place))
            return at + 1
        fitting = [n for n in (*_TYPES, Fraction(3, 2), Fraction(3)) if n <= end - at and n >= Fraction(1, 2)]
        length = self.chance.choice(fitting or [end - at])
        pitches = [] if self.maybe("rests", 0.2) else [self._pitch()]
        if pitches and self.maybe("chords", 0.2):
            pitches = list(dict.fromkeys([*pitches, self._pitch()]))
        line.append(_Note(bar, at, length, pitches, voice, staff))
        return at + length

    def _pitch(self) -> str:
        step, alter = self.chance.choice(_STEPS[:4]), self.chance.choice([0, 0, 0, 1, -1])
        altered = f"<alter>{alter}</alter>" if alter else ""
        return f"<step>{step}</step>{altered}<octave>{self.chance.choice([4, 5])}</octave>"

    def _ties(self, line: list[_Note]) -> None:
        notes = [note for note in line if not note.grace]
        for note, after in zip(notes, notes[1:], strict=False):
            meets = self._start(note) + note.length == self._start(after) or (
                note.bar + 1 == after.bar and after.onset == 0
            )
            if not (meets and note.pitches and after.pitches and self.maybe("ties", 0.35)):
                continue
            if note.pitches[0] in after.pitches[1:]:
                continue
            after.pitches[0] = note.pitches[0]
            note.ties[0].add("start")
            after.ties[0].add("stop")

    def _start(self, note: _Note) -> Fraction:
        return sum(self.lengths[: note.bar], Fraction(0)) + note.onset

    def _note_spans(self, line: list[_Note]) -> None:
        notes = [note for note in line if note.pitches]
        base = {"1": 1, "2": 3, "5": 5}[notes[0].voice] if notes else 1
        self._chain(notes, "slurs", "<slur type='{}' number='" + str(base) + "'/>", 1, 4)
        self._chain(notes, "long slurs", "<slur type='{}' number='" + str(base + 1) + "'/>", 3, 9)
        trill = "<ornaments><wavy-line type='{}' number='" + str(base) + "'/></ornaments>"
        self._chain(notes, "trills", trill, 1, 3)
        self._chain(notes, "glissandi", "<glissando type='{}' number='" + str(base) + "'/>", 1, 1)
        self._triplets(line)
        for note in notes:
            if self.maybe("marks", 0.2):
                kinds = ["articulations><staccato/></articulations", "technical><up-bow/></technical"]
                kinds += ["technical><fingering>2</fingering></technical", "dynamics><sf/></dynamics"]
                note.notations[0].append(f"<{self.chance.choice(kinds)}>")
        self._lyrics(notes)

    def _triplets(self, line: list[_Note]) -> None:
        """Mark triplets; where numbers are printed once, later ones hide theirs or have no sign."""
        for place, first in enumerate([note for note in line if note.triplet == 0]):
            last = line[line.index(first) + 2 :]
            last = [note for note in last if note.triplet == 2][:1]
            hidden = ""
            if place and self.has("numbers once"):
                if self.chance.random() < 0.5:
                    continue
                hidden = " bracket='no' show-number='none'"
            if not self.maybe("half brackets", 0.2):
                first.notations[0].append(f"<tuplet type='start'{hidden}/>")
            if not self.maybe("half brackets", 0.2):
                last[0].notations[0].append("<tuplet type='stop'/>")

    def _chain(self, notes: list[_Note], name: str, text: str, least: int, most: int) -> None:
        """Put spans one behind the other; a note may end one and begin the next."""
        at = 0
        while self.has(name) and at + least < len(notes):
            at += self.chance.randint(0, 3)
            end = at + self.chance.randint(least, most)
            if end >= len(notes):
                return
            notes[at].notations[0].append(text.format("start"))
            notes[end].notations[0].append(text.format("stop"))
            at = end

    def _lyrics(self, notes: list[_Note]) -> None:
        at = 0
        while self.has("lyrics") and at + 1 < len(notes):
            end = min(at + self.chance.randint(1, 3), len(notes) - 1)
            notes[at].lyric = "<lyric number='1'><text>la</text><extend type='start'/></lyric>"
            notes[end].lyric = "<lyric number='1'><extend type='stop'/></lyric>"
            at = end + 1

    def _beside_notes(self) -> None:
        """Directions in front of notes: spans as chains again, and single ones."""
        for name, number, begin in (
            ("hairpins", 1, ("<wedge type='crescendo' number='{}'/>", "<wedge type='stop' number='{}'/>")),
            ("octave signs", 1, ("<octave-shift type='down' size='8' number='{}'/>", "")),
            ("pedal", 1, ("<pedal type='start' line='yes' number='{}'/>", "")),
            ("dashes", 2, ("<dashes type='start' number='{}'/>", "<dashes type='stop' number='{}'/>")),
        ):
            element = begin[0].split()[0].lstrip("<")
            stop = begin[1] or f"<{element} type='stop' number='{{}}'/>"
            self._lead(name, begin[0].format(number), stop.format(number))
        for note in self.lines[0]:
            if self.maybe("dynamics", 0.15):
                mark = self.chance.choice(["p", "f", "mf", "fp", "sfz"])
                note.before.append(self._direction(f"<dynamics><{mark}/></dynamics>"))
            if self.maybe("words", 0.15):
                said = self.chance.choice(["dolce", "cresc.", "pizz.", "arco", "con sord."])
                note.before.append(self._direction(f"<words>{said}</words>"))
            if self.maybe("tempo", 0.1):
                note.before.append(tempo(self.chance.choice([60, 72, 90])))
            if self.maybe("harmony", 0.1):
                note.before.append(
                    "<harmony><root><root-step>C</root-step></root><kind>major</kind></harmony>"
                )

    def _lead(self, name: str, start: str, stop: str) -> None:
        line = self.chance.choice(self.lines)
        at = 0
        while self.has(name) and at + 1 < len(line):
            at += self.chance.randint(0, 4)
            end = at + self.chance.randint(1, 6)
            if end >= len(line):
                return
            line[at].before.append(self._direction(start, line[at].staff))
            line[end].before.append(self._direction(stop, line[end].staff))
            at = end

    def _direction(self, inside: str, staff: int = 1) -> str:
        late = "<offset>1</offset>" if self.maybe("late directions", 0.2) else ""
        where = f"<staff>{staff}</staff>" if self.has("staves") else ""
        return f"<direction><direction-type>{inside}</direction-type>{late}{where}</direction>"

    def _attributes(self) -> None:
        for index in range(1, self.count):
            inside = ""
            if self.divisions[index] != self.divisions[index - 1]:
                inside += f"<divisions>{self.divisions[index]}</divisions>"
            if self.maybe("keys"):
                inside += f"<key><fifths>{self.chance.randint(-4, 4)}</fifths></key>"
            if self.metres[index] != self.metres[index - 1]:
                inside += _time(self.metres[index])
            if inside:
                self.opening[index] = f"<attributes>{inside}</attributes>"
        for line in self.lines:
            for note in line[1:]:
                if self.maybe("clefs", 0.1):
                    clef = self.chance.choice(_CLEFS)
                    number = f" number='{note.staff}'" if self.has("staves") else ""
                    note.before.append(f"<attributes><clef{number}>{clef}</clef></attributes>")

    def _barlines(self) -> None:
        if self.has("endings") and self.count > 2:
            at = self.chance.randint(0, self.count - 2)
            end = self.chance.randint(at, self.count - 2)
            self._bracket(at, end, "1", "<repeat direction='backward'/>")
            self._bracket(end + 1, end + 1, "2", "")
        elif self.has("repeats"):
            at = self.chance.randint(0, self.count - 1)
            self.opening[at] = (
                "<barline location='left'><repeat direction='forward'/></barline>" + self.opening[at]
            )
            end = self.chance.randint(at, self.count - 1)
            self.closing[end] = "<barline location='right'><repeat direction='backward'/></barline>"

    def _bracket(self, first: int, last: int, number: str, repeat: str) -> None:
        start = f"<ending number='{number}' type='start'/>"
        self.opening[first] = f"<barline location='left'>{start}</barline>" + self.opening[first]
        stop = f"<ending number='{number}' type='stop'/>"
        self.closing[last] = f"<barline location='right'>{stop}{repeat}</barline>"

    def _document(self) -> bytes:
        listed = "".join(
            f"<score-part id='P{n}'><part-name>{name}</part-name></score-part>"
            for n, name in enumerate(("Violin", "Cello"), start=1)
        )
        parts = f"<part id='P1'>{self._bars()}</part>"
        if self.has("other tempo"):
            parts = f"{parts}<part id='P2'>{self._other()}</part>"
        else:
            listed = listed.partition("<score-part id='P2'>")[0]
        return (
            f"<score-partwise version='4.0'><part-list>{listed}</part-list>{parts}</score-partwise>".encode()
        )

    def _bars(self) -> str:
        return "".join(self._bar(index) for index in range(self.count))

    def _bar(self, index: int) -> str:
        implicit = " implicit='yes'" if index == 0 and self.has("pickup") else ""
        number = index if self.has("pickup") else index + 1
        text = f"<measure number='{number}'{implicit}>{self.opening[index]}"
        if index == 0:
            text += self._first_attributes()
        at = Fraction(0)
        for line in self.lines:
            notes = [note for note in line if note.bar == index]
            if at:
                text += f"<backup><duration>{at * self.divisions[index]}</duration></backup>"
            at = Fraction(0)
            for note in notes:
                text += "".join(note.before) + self._written(note, self.divisions[index])
                at += note.length
                if self.has("late divisions") and index == 0 and note is notes[0] and line is self.lines[0]:
                    text += f"<attributes><divisions>{self.divisions[0]}</divisions></attributes>"
        return f"{text}{self.closing[index]}</measure>"

    def _first_attributes(self) -> str:
        divisions = "" if self.has("late divisions") else f"<divisions>{self.divisions[0]}</divisions>"
        staves = "<staves>2</staves>" if self.has("staves") else ""
        clefs = f"<clef number='1'>{_CLEFS[0]}</clef>"
        clefs += f"<clef number='2'>{_CLEFS[2]}</clef>" if self.has("staves") else ""
        transposed = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
        return (
            f"<attributes>{divisions}<key><fifths>1</fifths></key>"
            f"{_time(self.metres[0])}{staves}{clefs}{transposed * self.has('transposed')}</attributes>"
        )

    def _written(self, note: _Note, divisions: int) -> str:
        text = ""
        for place, pitch in enumerate(note.pitches or [""]):
            head = "<grace/>" * note.grace + "<chord/>" * (place > 0)
            head += f"<pitch>{pitch}</pitch>" if pitch else "<rest/>"
            length = "" if note.grace else f"<duration>{note.length * divisions}</duration>"
            ties = "".join(f"<tie type='{kind}'/>" for kind in sorted(note.ties[place], reverse=True))
            marks = "".join(f"<tied type='{kind}'/>" for kind in sorted(note.ties[place], reverse=True))
            marks += "".join(note.notations[place])
            notations = f"<notations>{marks}</notations>" if marks else ""
            staff = f"<staff>{note.staff}</staff>" if self.has("staves") else ""
            lyric = note.lyric if not place else ""
            shape = _shape(note, self._accidental(pitch, note.ties[place]))
            text += (
                f"<note>{head}{length}{ties}<voice>{note.voice}</voice>{shape}{staff}"
                f"{notations}{lyric}</note>"
            )
        return text

    def _accidental(self, pitch: str, ties: set[str]) -> str:
        """Every note that no tie leads to says its own, so that none lacks it; or some do, or none is written."""
        odds = 0.6 if self.count % 2 else 1
        if not pitch or "stop" in ties or (self.has("accidentals left out") and self.omits.random() < odds):
            return ""
        sign = "flat" if "<alter>-1" in pitch else "sharp" if "<alter>1" in pitch else "natural"
        return f"<accidental>{sign}</accidental>"

    def _other(self) -> str:
        text = ""
        for index, length in enumerate(self.lengths):
            first = "<attributes><divisions>4</divisions></attributes>" if index == 0 else ""
            mark = tempo(self.chance.choice([50, 66, 88])) if self.chance.random() < 0.4 else ""
            rests = ""
            if length > 1:
                rests = f"<note><rest/><duration>4</duration></note>{mark}"
                mark = ""
                length -= 1
            rests += f"{mark}<note><rest/><duration>{length * 4}</duration></note>"
            text += f"<measure number='{index}'>{first}{rests}</measure>"
        return text


def tempo(number: int) -> str:
    """A metronome mark with the playback that belongs to it."""
    mark = f"<metronome><beat-unit>quarter</beat-unit><per-minute>{number}</per-minute></metronome>"
    return f"<direction><direction-type>{mark}</direction-type><sound tempo='{number}'/></direction>"


def _time(metre: tuple[int, int]) -> str:
    return f"<time><beats>{metre[0]}</beats><beat-type>{metre[1]}</beat-type></time>"


def _shape(note: _Note, accidental: str = "") -> str:
    """The written value of a note, with the accidental in its place."""
    if note.triplet is not None:
        ratio = "<actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
        return f"<type>eighth</type>{accidental}<time-modification>{ratio}</time-modification>"
    if note.grace:
        return f"<type>eighth</type>{accidental}"
    if note.length in _TYPES:
        return f"<type>{_TYPES[note.length]}</type>{accidental}"
    plain = note.length * Fraction(2, 3)
    return (f"<type>{_TYPES[plain]}</type><dot/>" if plain in _TYPES else "") + accidental


def make_score(seed: int, bars: int, features: frozenset[str]) -> bytes:
    """A small score: the same arguments always make the same one."""
    return _Maker(seed, bars, features).make()
