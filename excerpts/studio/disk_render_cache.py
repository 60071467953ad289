"""What a workbook takes from the cache: variants, engraved excerpts, heights of strips."""

from __future__ import annotations

import json
import zlib
from dataclasses import asdict
from hashlib import sha256
from typing import Any, Final

from excerpts.engrave import Missing, Spoken, Style
from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.studio.packing import exact, excerpt_facts, excerpt_of
from excerpts.studio.store import Store
from excerpts.words import Words
from excerpts.workbook.render_cache import Heights, Printed, PrintedSystem, RenderCache

ENGRAVED: Final = "engraved"
VARIED: Final = "varied"
HEIGHTS: Final = "heights"


class DiskRenderCache(RenderCache):
    """Makes only what the cache does not hold.

    Args:
        store: The cache.
        version: What everything depends on besides: programs, templates and faces.
    """

    def __init__(self, store: Store, version: str) -> None:
        super().__init__()
        self.store = store
        self.version = version

    def printed(self, excerpt: Excerpt, style: Style, labels: tuple[str, ...] = ()) -> Printed:
        """Engraved music: drawn when the same was not drawn before."""
        key = self._key(excerpt_facts(excerpt), asdict(style), labels)
        kept = self.store.get(ENGRAVED, key)
        if kept is not None:
            return _printed_of(json.loads(zlib.decompress(kept)))
        made = super().printed(excerpt, style, labels)
        self.store.put(ENGRAVED, key, zlib.compress(_json(asdict(made)), 1))
        return made

    def vary(self, excerpt: Excerpt, name: str, words: Words) -> Excerpt:
        """A variant, or the reason why there is none: made when it was not made before."""
        key = self._key(excerpt_facts(excerpt), name, words.choice)
        kept = self.store.get(VARIED, key)
        if kept is not None:
            told = json.loads(zlib.decompress(kept))
            if "refused" in told:
                what, where, hint = told["refused"]
                raise VariantError(what, where=where, hint=hint)
            return excerpt_of(told)
        try:
            made = super().vary(excerpt, name, words)
        except VariantError as refusal:
            told = {"refused": [refusal.what, refusal.where, refusal.hint]}
            self.store.put(VARIED, key, zlib.compress(_json(told), 1))
            raise
        self.store.put(VARIED, key, zlib.compress(_json(excerpt_facts(made)), 1))
        return made

    def heights(self, strip: str) -> Heights | None:
        """Heights of a strip that is the same as one that was measured before."""
        kept = self.store.get(HEIGHTS, self._key(strip))
        return None if kept is None else [float(height) for height in json.loads(kept)]

    def keep_heights(self, strip: str, heights: Heights) -> None:
        """Remember the heights of a strip."""
        self.store.put(HEIGHTS, self._key(strip), _json(heights))

    def _key(self, *facts: object) -> str:
        return sha256(_json([self.version, *facts])).hexdigest()


def _json(facts: object) -> bytes:
    return json.dumps(facts, sort_keys=True, default=exact).encode()


def _printed_of(told: dict[str, Any]) -> Printed:
    systems = tuple(PrintedSystem(**one) for one in told["systems"])
    missing = tuple(Missing(**one) for one in told["missing"])
    return Printed(systems, Spoken(**told["spoken"]), tuple(told["log"]), missing)
