"""The audit of whole scores: nothing crosses, nothing collides that the engraver did not make collide."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

import pytest

from excerpts.engrave import Style, engrave
from excerpts.engrave.svg.rect import Rect
from excerpts.excerpt import Excerpt
from tests.engrave.audit import Fault, audit, count, raw_faults, text_faults
from tests.engrave.cases import engraved
from tests.engrave.sample import corpus_excerpts, demo_excerpts

_TEXT = ("text on text", "text on note")


def _all(excerpts: Iterable[tuple[str, Excerpt]]) -> tuple[list[tuple[str, Fault]], Counter[str], int]:
    """Our faults with the names of their excerpts, the engraver's by kind, and the number of excerpts."""
    ours: list[tuple[str, Fault]] = []
    raw: Counter[str] = Counter()
    number = 0
    for name, music in excerpts:
        number += 1
        ours.extend((name, fault) for fault in audit(engrave(music, Style(), ("12",))))
        raw += count(raw_faults(music, Style()))
    return ours, raw, number


def test_the_audit_sees_what_is_wrong() -> None:
    """It can fail: a picture whose words were pushed into its notes and over its box has faults."""
    from dataclasses import replace

    from excerpts.engrave.movable_signs import moved
    from excerpts.engrave.svg.drawing import Coloured

    engraving = engraved("words run past the box")
    system = engraving.systems[0]
    note = system.notes[-2].head
    words = Rect(*(0.0,) * 4)
    inks: list[Coloured] = []
    for coloured in system.drawing.inks:
        if coloured.ink.owner.kind == "dir":
            words = coloured.ink.rect if words.width == 0 else words
            at = note.moved(dy=system.drawing.top_mm)
            coloured = coloured._replace(ink=moved(coloured.ink, at.left - words.left, at.top - words.top))
        inks.append(coloured)
    spoilt = replace(engraving, systems=(replace(system, drawing=replace(system.drawing, inks=tuple(inks))),))
    kinds = {fault.kind for fault in audit(spoilt)}
    assert "text on note" in kinds
    assert audit(engraving) == []
    assert text_faults([c.ink for c in inks])


@pytest.mark.slow
def test_the_demo_scores_have_no_fault() -> None:
    ours, _, number = _all(demo_excerpts(step=7, length=3))
    assert number > 40
    assert ours == []


@pytest.mark.slow
def test_real_scores_have_fewer_overlaps_than_the_engraver_gives_them() -> None:
    """A hundred boxes of music21's corpus, half of them from string quartets.

    What is left is listed when it fails: lyrics that the engraver itself lets overlap, and box lines broken
    for syllables that have no room beside them.
    """
    ours, raw, number = _all(corpus_excerpts(100))
    assert number == 100
    faults = count(fault for _, fault in ours)
    listed = "\n".join(f"{name}: {fault}" for name, fault in ours)
    assert set(faults) <= {*_TEXT, "broken side"}, listed
    assert sum(faults[kind] for kind in _TEXT) <= sum(raw[kind] for kind in _TEXT), listed
    assert {fault.what for _, fault in ours} <= {"syl", "syl and syl"}, listed
    assert faults["broken side"] <= 2, listed
