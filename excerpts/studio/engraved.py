"""Engraved excerpts in the cache: what was drawn once for the same music, boxes and style is not drawn again."""

from __future__ import annotations

import json
import zlib
from dataclasses import asdict
from fractions import Fraction
from hashlib import sha256
from typing import Any, Final

from excerpts.engrave import Spoken, Style
from excerpts.excerpt import Excerpt
from excerpts.studio.store import Store
from excerpts.workbook.printed import Engraver, Printed, PrintedSystem, printed

KIND: Final = "engraved"


def remembered(store: Store, version: str, draw: Engraver = printed) -> Engraver:
    """An engraver that draws only what the cache does not hold.

    Args:
        store: The cache.
        version: What drawings depend on besides the music: programs and faces.
        draw: Draws.
    """

    def engrave(excerpt: Excerpt, style: Style, labels: tuple[str, ...] = ()) -> Printed:
        key = excerpt_key(excerpt, style, labels, version)
        kept = store.get(KIND, key)
        if kept is not None:
            return _unpacked(kept)
        made = draw(excerpt, style, labels)
        store.put(KIND, key, _packed(made))
        return made

    return engrave


def excerpt_key(excerpt: Excerpt, style: Style, labels: tuple[str, ...], version: str) -> str:
    """SHA-256 of all that a drawing is made from: the excerpt's bytes, bars, boxes and open ends, style, labels."""
    facts = {
        "version": version,
        "bars": [asdict(bar) for bar in excerpt.bars],
        "boxes": [asdict(box) for box in excerpt.boxes],
        "open_ends": [asdict(end) for end in excerpt.open_ends],
        "tempo": asdict(excerpt.tempo) if excerpt.tempo else None,
        "origin": asdict(excerpt.origin),
        "style": asdict(style),
        "labels": labels,
    }
    text = json.dumps(facts, sort_keys=True, default=_exact)
    return sha256(text.encode() + b"\0" + excerpt.xml).hexdigest()


def _exact(value: object) -> str:
    if isinstance(value, Fraction):
        return str(value)
    raise TypeError(f"{type(value).__name__} has no place in a key")


def _packed(made: Printed) -> bytes:
    return zlib.compress(json.dumps(asdict(made), ensure_ascii=False).encode(), 1)


def _unpacked(data: bytes) -> Printed:
    told: dict[str, Any] = json.loads(zlib.decompress(data))
    systems = tuple(PrintedSystem(**one) for one in told["systems"])
    return Printed(systems, Spoken(**told["spoken"]), tuple(told["log"]))
