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
from excerpts.studio.store import Store
from excerpts.system.resources import scores
from excerpts.words import Words
from excerpts.workbook.page_fit import END, places
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


class _Page:
    """Lays out strips as high as they have letters, and their music; a name inside is below the first letter."""

    def __init__(self) -> None:
        self.strips = 0
        self.anchors: dict[str, tuple[float, float]] = {}
        self.pages = [self]

    def __call__(self, html: str) -> _Page:
        import re

        top = 0.0
        self.anchors = {}
        for name, music, inner, letters in re.findall(
            r'<div class="mark" id="([\w-]+)"></div><div class="strip">((?:<img[^>]*>)*)<p id="([\w-]+)">(\w+)</p>',
            html,
        ):
            self.strips += 1
            self.anchors[name] = (0.0, top)
            top += sum(MUSIC[source].high for source in re.findall(r'src="([^"]+)"', music)) + 1
            self.anchors[inner] = (0.0, top)
            top += len(letters)
        self.anchors[END] = (0.0, top)
        return self


class _Music:
    def __init__(self, high: float) -> None:
        self.high = high

    def get_intrinsic_size(self, _resolution: float, _font_size: float) -> tuple[float, float, float]:
        return 100.0, self.high, 100.0 / self.high


MUSIC = {"music:1": _Music(30.0), "music:2": _Music(21.5), "music:3": _Music(0.25)}


def test_strips_that_are_alike_are_laid_out_once_and_stand_where_they_would(tmp_path: Path) -> None:
    strips = [
        ("bars 12", ()), ("bars 120", ()), ("bars 47", ()), ("bars 47", (1,)), ("bars 98", (2,)), ("bars 98", (2, 3)),
        ("bass 98", ()), ("bars 11", (3,)), ("bars 3", ()),
    ]  # fmt: skip
    body = "\n".join(
        f'<div class="mark" id="strip-{place}"></div><div class="strip">'
        f'{_lines(music)}<p id="strip-{place}-row">{text}</p></div>'
        for place, (text, music) in enumerate((text.replace(" ", "_"), music) for text, music in strips)
    )
    html = f'<body>{body}\n</div>\n<div id="{END}"></div></body>'
    whole = _Page()(html)
    expected = {name: at[1] for name, at in whole.anchors.items()}
    assert len(expected) == 2 * len(strips) + 1
    for laid_out in (6, 0):
        page = _Page()
        found = places(html, MUSIC, "look", page, DiskRenderCache(Store(tmp_path), "1"))
        assert found == pytest.approx(expected)
        assert page.strips == laid_out
    page = _Page()
    assert places(html, MUSIC, "another look", page, DiskRenderCache(Store(tmp_path), "1")) == pytest.approx(
        expected
    )
    assert page.strips == 6


def _lines(music: tuple[int, ...]) -> str:
    return "".join(f'<img class="system" src="music:{number}" alt="bars {number}"/>' for number in music)
