"""One file of the corpus: some cuts of every part, each held to the schema, the reading and the engraver."""

from __future__ import annotations

import random
import re
from collections import Counter
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path

from lxml import etree

from excerpts.excerpt import Excerpt
from excerpts.score import open_score
from tests.corpus.compare import Source, SourcePart
from tests.corpus.engraver import complaints
from tests.corpus.ranges import Range, choose
from tests.corpus.reading import documents
from tests.schema import schema_errors

_UNMATCHED = re.compile(r"MusicXML import: .*(not be (ended|closed|matched)|left open|without ending)")
"""How verovio words a span that lacks an end: never allowed in a cut, whatever its source has."""

_HARMLESS = re.compile(r"trill '.*' is ignored, since start '.*' does not occur temporally before end")
"""What verovio says of a trill's line that begins and ends on one note of a chord, which MusicXML allows."""


@dataclass
class Result:
    """What came of one file."""

    counts: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)


def corpus() -> Path:
    """The folder of music21's corpus."""
    spec = find_spec("music21")
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin).parent / "corpus"


def scores() -> list[str]:
    """Every MusicXML file of it, as paths from its folder."""
    root = corpus()
    found = (p for p in root.rglob("*") if p.suffix in (".xml", ".mxl", ".musicxml"))
    return sorted(str(path.relative_to(root)) for path in found)


def check_file(name: str, ranges: int, engraved: int, *, most_parts: int = 100) -> Result:
    """Cut `ranges` ranges of every part of a file, of which `engraved` a part go through verovio."""
    path = corpus() / name
    checker = _Checker(name, path)
    result = checker.result
    result.counts["files"] += 1
    for index in range(min(len(checker.source.parts), most_parts)):
        part = checker.source.part(index)
        result.counts["parts"] += 1
        picked = choose(part, f"{name} #{index + 1}", ranges)
        drawn = set(random.Random(name).sample(range(len(picked)), min(engraved, len(picked))))
        for k, wanted in enumerate(picked):
            checker.check(part, wanted, draw=k in drawn)
    checker.check_unchanged()
    return result


class _Checker:
    def __init__(self, name: str, path: Path) -> None:
        self.name = name
        self.result = Result()
        self.source = Source(documents(path))
        self.score = open_score(path)
        self.opened = etree.tostring(self.score.root)
        self.source.root.set("version", "4.0")
        self.source_errors = messages(etree.tostring(self.source.root))
        if self.source_errors:
            self.result.counts["invalid sources"] += 1
        self.source_log: list[str] | None = None

    def check(self, part: SourcePart, wanted: Range, *, draw: bool) -> None:
        """Cut once, twice the same, and hold the cut to everything."""
        counts = self.result.counts
        counts["cuts"] += 1
        counts[f"edge in {wanted.why}" if wanted.why else "edge anywhere"] += 1
        address = f"@{wanted.first + 1}-@{wanted.last + 1}"
        bars = len(part.reading.bars)
        first, last = max(0, wanted.first - wanted.context), min(bars - 1, wanted.last + wanted.context)
        excerpt = self.score.part(f"#{part.index + 1}").passage(address).cut(wanted.context)
        wrong = part.differences(excerpt, first, last)
        wrong += self._invalid(excerpt)
        if draw:
            counts["engraved"] += 1
            wrong += self._unclean(excerpt)
        counts["right" if not wrong else "wrong"] += 1
        where = (
            f"{self.name} #{part.index + 1} {address} context {wanted.context} ({wanted.why or 'anywhere'})"
        )
        self.result.wrong.extend(f"{where}: {what}" for what in wrong)

    def check_unchanged(self) -> None:
        """No cut has changed the score that it was cut out of."""
        same = etree.tostring(self.score.root) == self.opened
        self.result.counts["scores unchanged"] += same
        self.result.wrong += [] if same else [f"{self.name}: cutting has changed the score"]

    def _invalid(self, excerpt: Excerpt) -> list[str]:
        """What the schema says that it does not say of the source itself."""
        return [f"schema: {m}" for m in sorted(messages(excerpt.xml) - self.source_errors)]

    def _unclean(self, excerpt: Excerpt) -> list[str]:
        """What verovio says that it does not say of the whole source, and every unmatched end."""
        found = complaints(excerpt.xml)
        if found and self.source_log is None:
            self.source_log = complaints(etree.tostring(self.source.root), paged=True)
            self.result.counts["sources that verovio faults"] += bool(self.source_log)
        return [f"verovio: {line}" for line in faults(found, self.source_log or [])]


def faults(log: list[str], source_log: list[str]) -> list[str]:
    """The lines of verovio's log that a cut must not have: unmatched ends, and what the whole source lacks."""
    known = {_wording(line) for line in source_log}
    return [
        line
        for line in log
        if _UNMATCHED.search(line) or not (_wording(line) in known or _HARMLESS.search(line))
    ]


def messages(data: bytes) -> set[str]:
    return {error.partition(": ")[2] for error in schema_errors(data)}


def _wording(line: str) -> str:
    """A line of the log without the ids and numbers in it, which differ from run to run."""
    return " ".join(word for word in line.split() if not any(c.isdigit() or c == "'" for c in word))
