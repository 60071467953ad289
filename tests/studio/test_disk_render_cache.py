"""What comes out of the cache is what would have been made. Tier: default."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from excerpts.engrave import Style
from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt, OpenEnd, Position
from excerpts.score import open_score
from excerpts.studio.disk_render_cache import DiskRenderCache
from excerpts.system.cache import Store
from excerpts.system.resources import scores
from excerpts.words import Words
from excerpts.workbook.render_cache import RenderCache


def _box(bars: str = "15:3-16:2") -> Excerpt:
    return open_score(scores() / "gale-concerto-1.musicxml").part(None).passage(bars).cut(1)


@pytest.mark.parametrize("bars", ["15:3-16:2", "C+7-C+8", "1-2"])
def test_an_excerpt_goes_through_the_cache_with_nothing_lost(
    bars: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    end = OpenEnd("tie", "end", Position(0, Fraction(1, 3)), 2, "3", "C#4", "above")
    whole = _box(bars)
    made = (whole, replace(whole, open_ends=(*whole.open_ends, end)), replace(whole, tempo=None))
    monkeypatch.setattr("excerpts.workbook.render_cache.vary", lambda _, name, **__: made[int(name)])
    for _ in range(2):
        memory = DiskRenderCache(Store(tmp_path), "1")
        assert tuple(memory.vary(whole, name, Words()) for name in "012") == made
    assert memory.store.stored == 0


class _Counting(DiskRenderCache):
    """Counts what was made."""

    def __init__(self, store: Store, version: str = "1") -> None:
        super().__init__(store, version)
        self.stored_before = store.stored

    @property
    def made(self) -> int:
        return self.store.stored - self.stored_before


def test_music_and_variants_are_the_same_from_the_cache(tmp_path: Path) -> None:
    excerpt, plain = _box(), RenderCache()
    for made in (2, 0):
        memory = _Counting(Store(tmp_path))
        assert memory.printed(excerpt, Style(), ("1",)) == plain.printed(excerpt, Style(), ("1",))
        assert memory.varied(excerpt, "separate", Words()) == plain.varied(excerpt, "separate", Words())
        assert memory.made == made


def test_a_variant_in_other_words_is_made_anew(tmp_path: Path) -> None:
    excerpt = _box("1-4")
    for _ in range(2):
        memory = DiskRenderCache(Store(tmp_path), "1")
        for choice, told in (("uk", "strings guessed"), ("de", "Saiten vermutet")):
            made = memory.varied(excerpt, "open-strings", Words(choice))
            assert told in [words.text for words in made.tree().iter("words")]


def test_a_refusal_is_the_same_from_the_cache(tmp_path: Path) -> None:
    excerpt = _box()
    told = []
    for memory in (
        RenderCache(),
        DiskRenderCache(Store(tmp_path), "1"),
        DiskRenderCache(Store(tmp_path), "1"),
    ):
        for _ in range(2):
            with pytest.raises(VariantError) as caught:
                memory.varied(excerpt, "lower-line", Words())
            told.append((caught.value.what, caught.value.where, caught.value.hint))
    assert len(set(told)) == 1


def test_another_of_anything_is_made_anew(tmp_path: Path) -> None:
    excerpt = _box()
    DiskRenderCache(Store(tmp_path), "1").printed(excerpt, Style(), ("1",))
    others = [
        ("1", excerpt, Style(), ("2",)),
        ("1", excerpt, Style(staff_mm=8), ("1",)),
        ("1", replace(excerpt, boxes=()), Style(), ("1",)),
        ("1", replace(excerpt, open_ends=()), Style(), ("1",)),
        ("2", excerpt, Style(), ("1",)),
    ]
    for version, other, style, labels in others:
        memory = _Counting(Store(tmp_path), version)
        memory.printed(other, style, labels)
        assert memory.made == (
            0 if other == excerpt and (version, style, labels) == ("1", Style(), ("1",)) else 1
        )
