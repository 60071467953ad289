"""A score, its parts, and the passages in them: the way from a file to an excerpt."""

from __future__ import annotations

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from itertools import chain
from pathlib import Path
from typing import NamedTuple

from lxml import etree

from excerpts.arguments import count_of, text_of, texts_of
from excerpts.errors import PartError, ScoreError
from excerpts.excerpt import Excerpt, Origin, ReportLine
from excerpts.score.address import Resolver
from excerpts.score.attributes import attributes_of
from excerpts.score.bars import BarRange, Bars, Rehearsals
from excerpts.score.head import in_head
from excerpts.score.limits import MOST_BARS, check_cut, check_divisions, check_tree, shortened
from excerpts.score.marking_syntax import MarkError
from excerpts.score.numbering import called, shifted
from excerpts.score.parse import parse_score, unwrap


@dataclass(frozen=True, slots=True)
class PartInfo:
    """A part as the score lists it.

    Attributes:
        name: Name as printed; "" where it has none.
        id: Id in the file.
        place: Place among the `<part>` elements, from 1 ("#2" in addresses).
        instrument: Name of its instrument as the file gives it; "" where it does not.
    """

    name: str
    id: str
    place: int
    instrument: str


class Score:
    """An opened score.

    Args:
        root: Its `<score-partwise>`; it is not changed.
        name: Name of the file, for messages and for the origin of excerpts.
        warnings: What is to be said of it in every report, such as what a conversion may have lost.
    """

    def __init__(self, root: etree._Element, name: str, warnings: tuple[str, ...] = ()) -> None:
        self.root = root
        self.name = name
        self.warnings = warnings
        self._parts = root.findall("part")
        if not self._parts:
            raise ScoreError(
                "the score has no parts in it.", where=name, hint="Export it again from its source."
            )
        check_tree(root, name)
        self._attributes = [attributes_of(part) for part in self._parts]
        check_divisions(chain.from_iterable(self._attributes), name)

    @property
    def title(self) -> str:
        """Title of the piece, with that of the movement where it has both; "" where the file gives none."""
        titles = [in_head(self.root, tag) for tag in ("work-title", "movement-title")]
        return ", ".join(
            dict.fromkeys(text for one in titles if one is not None and (text := _text(one, ".")))
        )

    @property
    def composer(self) -> str:
        """Composer as the file gives it; "" where it does not."""
        for creator in self.root.iterfind("identification/creator"):
            if creator.get("type") == "composer":
                return shortened(" ".join("".join(creator.itertext()).split()))
        return ""

    @cached_property
    def parts(self) -> tuple[PartInfo, ...]:
        """The parts in the order in which they stand in the file."""
        listed = self.root.findall("part-list/score-part")
        by_id = {entry.get("id"): entry for entry in listed}
        infos: list[PartInfo] = []
        for place, part in enumerate(self._parts, start=1):
            entry = by_id.get(part.get("id"))
            if entry is None and place <= len(listed):
                entry = listed[place - 1]
            name = _text(entry, "part-name") if entry is not None else ""
            instrument = _text(entry, "score-instrument/instrument-name") if entry is not None else ""
            infos.append(PartInfo(name, part.get("id") or "", place, instrument))
        return tuple(infos)

    @cached_property
    def bars(self) -> list[Bars]:
        """The bars of every part, in the order of `parts`."""
        marks = Rehearsals(self._parts)
        return [
            Bars(part, marks, attributes)
            for part, attributes in zip(self._parts, self._attributes, strict=True)
        ]

    def mended(self) -> etree._Element:
        """A copy of the whole score, with what was mended so far in its parts."""
        root = deepcopy(self.root)
        for part, bars in zip(root.findall("part"), self.bars, strict=True):
            if bars.version:
                root.replace(part, deepcopy(bars.part))
        return root

    def part(self, wanted: str | int | None = None) -> Part:
        """Find a part.

        Args:
            wanted: Its name or its id, "#2" or 2 for the second part, or what else people call it where only one
                part can be meant ("Vl. 1" for "Violin I"); None where the score has only one.

        Raises:
            PartError: There is no such part, or more than one that fits; the message lists the parts.
            ArgumentError: It is neither a text nor a whole number.
        """
        if wanted is None:
            if len(self.parts) > 1:
                raise self._which("the score has several parts.")
            return Part(self, 0)
        number = "" if isinstance(wanted, str) else "#"
        wanted = number + text_of(wanted, "a part", '"Cello" or "#2"').strip()
        if wanted.startswith("#") and wanted[1:].isdecimal():
            place = int(wanted[1:]) if len(wanted) < 8 else 0
            if not 1 <= place <= len(self.parts):
                raise self._which(f"there is no part {wanted}.")
            return Part(self, place - 1)
        return Part(self, self._named(wanted))

    def passage(self, address: str | int, pupil_bars: int = 0) -> Passage:
        """Find bars in a score that has one part: what `Part.passage` does.

        Raises:
            PartError: The score has several parts; the message lists them.
            AddressError: It is not an address, or names no bars of the part, or too many.
        """
        return self.part().passage(address, pupil_bars)

    def _named(self, wanted: str) -> int:
        for fold in (str, str.casefold):
            places = [i.place - 1 for i in self.parts if fold(wanted) in (fold(i.name), fold(i.id))]
            if len(places) == 1:
                return places[0]
            if places:
                raise self._which(f"more than one part is called '{wanted}'.")
        if wanted.isdecimal() and 0 < int(wanted) <= len(self.parts):
            return int(wanted) - 1
        from excerpts.instruments.instrument_names import is_called

        for strictly in (True, False):
            named = ((info.place - 1, info.name or info.instrument) for info in self.parts)
            alike = [place for place, name in named if is_called(wanted, name, strictly=strictly)]
            if len(alike) == 1:
                return alike[0]
            if alike:
                raise self._which(f"more than one part can be called '{wanted}'.")
        raise self._which(f"there is no part '{wanted}'.")

    def _which(self, what: str) -> PartError:
        listed = ", ".join(f"#{info.place} {info.name or '(no name)'}" for info in self.parts[:40])
        return PartError(what, where=self.name, hint=f"Name one of: {listed}.")


class TakenOut(NamedTuple):
    """Something that a part had and has no longer, for the report of its excerpts.

    Attributes:
        bar: Index of its measure, from 0.
        thing: What it is, as `ReportLine` has it.
        why: Why it was taken out.
    """

    bar: int
    thing: str
    why: str


class Part:
    """One part of a score, by its index from 0; `taken_out` is what its excerpts are to say was taken out of it."""

    def __init__(self, score: Score, index: int, taken_out: tuple[TakenOut, ...] = ()) -> None:
        self.score = score
        self.index = index
        self.taken_out = taken_out

    @property
    def info(self) -> PartInfo:
        """What the score says of the part."""
        return self.score.parts[self.index]

    @property
    def bars(self) -> Bars:
        """The bars of the part."""
        return self.score.bars[self.index]

    @property
    def where(self) -> str:
        """Score and part, for messages."""
        return f"{self.score.name}, part {self.info.name or self.info.id or f'#{self.info.place}'}"

    def passage(self, address: str | int, pupil_bars: int = 0) -> Passage:
        """Find the bars that an address names.

        Args:
            address: The bars, as "41-48", or the number of one.
            pupil_bars: How much higher the bar numbers of the pupil's own edition are than those of the
                file. The address is in the pupil's numbers then, and the excerpt gets them.

        Raises:
            AddressError: It is not an address, or names no bars of the part, or too many.
            ArgumentError: It is neither a text nor a whole number, or `pupil_bars` is no whole number.
        """
        bars = text_of(address, "an address", '"41-48"')
        higher = count_of(pupil_bars, "pupil_bars", least=-MOST_BARS)
        span = Resolver(self.bars, self.where, higher).resolve(bars)
        return Passage(self, bars.strip(), span, higher)

    def whole(self, pupil_bars: int = 0) -> Passage:
        """All bars of the part."""
        return self.passage(f"@1-@{len(self.bars)}", pupil_bars)


@dataclass(frozen=True, slots=True)
class Passage:
    """Bars of a part, found by an address and not cut yet."""

    part: Part
    address: str
    span: BarRange
    pupil_bars: int = 0

    @property
    def resolver(self) -> Resolver:
        """What finds other bars of the part, in the same numbers."""
        return Resolver(self.part.bars, self.part.where, self.pupil_bars)

    @property
    def beat(self) -> Fraction:
        """How many quarter notes a beat of its first bar has, as players count."""
        return self.part.bars.metre(self.span.first).first_beat

    def cut(self, context: int = 1, marks: Sequence[str] = (), piece_marks: Sequence[str] = ()) -> Excerpt:
        """Cut the passage out, with `context` measures before and after it (fewer at the ends of the part).

        Args:
            context: Measures to show at each side.
            marks: Marks of the teacher's own ("43:2 finger 3"), put in place of what stands there; see
                `excerpts.score.marking_syntax`.
            piece_marks: Marks for the whole piece, put in before `marks` as far as the cut shows their bars.

        Raises:
            ArgumentError: `context` is no whole number or negative, or a mark is no text.
            MarkError: A mark cannot be read, or there is no note for it in the cut.
            AddressError: A mark names a bar or a beat that the part does not have.
        """
        from excerpts.score.cut import cut, shown_bars  # `show` cuts nothing

        count_of(context, "context")
        marks, piece_marks = (texts_of(each, "a mark", '"43:2 finger 3"') for each in (marks, piece_marks))
        score, info = self.part.score, self.part.info
        first, last = shown_bars(self.part.bars, self.span, context)
        check_cut(self.part.bars.measures[first : last + 1], self.part.where)
        names = called(self.part.bars, self.span, self.pupil_bars)
        origin = Origin(
            Path(score.name).name,
            score.title,
            score.composer,
            info.name,
            info.id,
            self.address,
            first_bar=names.first,
            last_bar=names.last,
            pickup=names.pickup,
        )
        excerpt = cut(score.root, score.bars, self.part.index, self.span, origin, context, self.pupil_bars)
        said = [ReportLine("warning", "score", detail=warning) for warning in score.warnings]
        said += [
            ReportLine("dropped", thing, shifted(self.part.bars.labels[bar], self.pupil_bars), why)
            for bar, thing, why in self.part.taken_out
            if first <= bar <= last
        ]
        excerpt = replace(excerpt, report=(*said, *excerpt.report)) if said else excerpt
        if not (marks or piece_marks):
            return excerpt
        from excerpts.score.teacher_markings import with_marks

        try:
            excerpt = with_marks(excerpt, piece_marks, self.resolver, outside=True)
            return with_marks(excerpt, marks, self.resolver)
        except MarkError as error:
            raise MarkError(error.what, where=self.part.where, hint=error.hint) from error


def score_from_bytes(data: bytes, name: str) -> Score:
    """Open a MusicXML document that is in memory, compressed or not; `name` is for messages.

    Raises:
        ScoreError: It holds no MusicXML score.
    """
    return Score(parse_score(unwrap(data, name), name), name)


def _text(element: etree._Element, path: str) -> str:
    return shortened(" ".join((element.findtext(path) or "").split()))
