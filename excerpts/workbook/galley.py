"""Measures strips on a page without an end: each that is the same is laid out once, and none that is known already."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final

from excerpts.workbook.memory import Heights, Memory

if TYPE_CHECKING:
    from weasyprint import Document

END: Final = "galley-end"
_START: Final = '<div class="strip"'
_STOP: Final = f'</div>\n<div id="{END}">'
_ID: Final = re.compile(r'\bid="(strip-\w+(?:-\w+)*)"')
_SPOKEN: Final = re.compile(r' alt="[^"]*"')
_MUSIC: Final = re.compile(r'src="(music:\d+)"')
_FINE: Final = 6
"""Decimals of a pixel that heights are told in: the same wherever in the galley a strip has stood."""


def places(
    html: str, images: Mapping[str, Any], look: str, lay_out: Callable[[str], Document], memory: Memory
) -> dict[str, float]:
    """Where everything that has a name stands in the galley, from its top in CSS pixels.

    A strip is a block by itself: how high it is depends on what is in it and on the style sheets alone.

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
    keys = [f"{look}\n{_plain(strip, images)}" for strip in strips]
    known = {key: memory.heights(key) for key in dict.fromkeys(keys)}
    new = {key: strip for key, strip in zip(keys, strips, strict=True) if known[key] is None}
    if new:
        document = lay_out(head + "".join(_START + strip for strip in new.values()) + _STOP + tail)
        at = {name: place[1] for name, place in document.pages[0].anchors.items()}
        tops = [at[_ID.findall(strip)[0]] for strip in new.values()] + [at[END]]
        for (key, strip), top, bottom in zip(new.items(), tops, tops[1:], strict=False):
            found = [*(at[name] for name in _ID.findall(strip)[1:]), bottom]
            known[key] = [round(place - top, _FINE) for place in found]
            memory.keep_heights(key, [round(place - top, _FINE) for place in found])
    return _placed(strips, [known[key] or [] for key in keys])


def _placed(strips: list[str], heights: list[Heights]) -> dict[str, float]:
    found: dict[str, float] = {}
    top = 0.0
    for strip, (*inner, height) in zip(strips, heights, strict=True):
        first, *names = _ID.findall(strip)
        found[first] = top
        found.update({name: top + place for name, place in zip(names, inner, strict=True)})
        top += height
    return found | {END: top}


def _plain(strip: str, images: Mapping[str, Any]) -> str:
    """A strip without what its height does not depend on: names, spoken texts, which music it is, only how large."""
    text = _SPOKEN.sub("", _ID.sub("id", strip))
    return _MUSIC.sub(lambda found: f"src={images[found[1]].get_intrinsic_size(1, 1)}", text)
