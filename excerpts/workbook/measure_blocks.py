"""Measures strips on a page without an end: each that is the same is laid out once, and none that is known already."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final

from excerpts.workbook.render_cache import Heights, RenderCache

if TYPE_CHECKING:
    from weasyprint import Document

END: Final = "galley-end"
_START: Final = '<div class="mark"'
_STOP: Final = f'</div>\n<div id="{END}">'
_ID: Final = re.compile(r'\bid="(strip-\w+(?:-\w+)*)"')
_SYSTEM: Final = re.compile(r'<img class="system" src="(music:\d+)"[^>]*>')
_UNSEEN: Final = re.compile(r' (?:alt|data-outline|href|id)="[^"]*"')
_TEXT: Final = re.compile(r">[^<]*[0-9][^<]*")
_DIGITS: Final = str.maketrans("123456789", "000000000")
_FINE: Final = 6
"""Decimals of a pixel that heights are told in: the same wherever in the galley a strip has stood."""


def places(
    html: str, images: Mapping[str, Any], look: str, lay_out: Callable[[str], Document], memory: RenderCache
) -> dict[str, float]:
    """Where everything that has a name stands in the galley, from its top in CSS pixels.

    A strip is a block by itself: how high it is depends on what is in it and on the style sheets alone. Lines of
    music stand one below the other and are as high as they are; all else is the same in strips whose texts differ
    in their digits only, which are equally wide in our faces.

    Args:
        html: The galley.
        images: Ready images by their addresses.
        look: All that the heights depend on besides: style sheets, sizes.
        lay_out: Lays out a page.
        memory: Heights that were measured before.

    Returns:
        Places by name; the end of the galley by `END`.
    """
    head, *strips = html.split(_START)
    strips[-1], _, tail = strips[-1].rpartition(_STOP)
    keys = [f"{look}\n{_plain(strip)}" for strip in strips]
    known = {key: memory.heights(key) for key in dict.fromkeys(keys)}
    new = {key: strip for key, strip in zip(keys, strips, strict=True) if known[key] is None}
    if new:
        document = lay_out(head + "".join(_START + strip for strip in new.values()) + _STOP + tail)
        at = {name: place[1] for name, place in document.pages[0].anchors.items()}
        tops = [at[_ID.findall(strip)[0]] for strip in new.values()] + [at[END]]
        for (key, strip), top, bottom in zip(new.items(), tops, tops[1:], strict=False):
            found = [*(at[name] for name in _ID.findall(strip)[1:]), bottom]
            music = _music_above(strip, images)
            known[key] = [round(place - top - high, _FINE) for place, high in zip(found, music, strict=True)]
            memory.keep_heights(key, known[key] or [])
    return _placed(strips, [known[key] or [] for key in keys], images)


def _placed(strips: list[str], heights: list[Heights], images: Mapping[str, Any]) -> dict[str, float]:
    found: dict[str, float] = {}
    top = 0.0
    for strip, rests in zip(strips, heights, strict=True):
        first, *names = _ID.findall(strip)
        *inner, height = (
            rest + music for rest, music in zip(rests, _music_above(strip, images), strict=True)
        )
        found[first] = top
        found.update({name: top + place for name, place in zip(names, inner, strict=True)})
        top += height
    return found | {END: top}


def _music_above(strip: str, images: Mapping[str, Any]) -> list[float]:
    """How much music stands above what has a name in a strip, and above its end, in CSS pixels."""
    systems = [
        (found.start(), images[found[1]].get_intrinsic_size(1, 1)[1]) for found in _SYSTEM.finditer(strip)
    ]
    names = [found.start() for found in _ID.finditer(strip)][1:]
    return [sum(height for place, height in systems if place < end) for end in (*names, len(strip))]


def _plain(strip: str) -> str:
    """A strip without what the height of the rest does not depend on: names, spoken texts, music, which digit it is."""
    text = _UNSEEN.sub("", _SYSTEM.sub("<system>", strip))
    return _TEXT.sub(lambda found: found[0].translate(_DIGITS), text)
