"""What a workbook takes from the cache: variants, engraved excerpts."""

from __future__ import annotations

import zlib
from hashlib import sha256
from typing import Final

from pydantic import TypeAdapter

from excerpts.engrave import Style
from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.system.cache import Store
from excerpts.words import Words
from excerpts.workbook.render_cache import Printed, RenderCache

ENGRAVED: Final = "engraved"
VARIED: Final = "varied"

_Refusal = tuple[str, str, str]
"""What, where and hint of the error that a variant was refused with."""

_EXCERPT: Final = TypeAdapter(Excerpt)
_VARIED: Final[TypeAdapter[Excerpt | _Refusal]] = TypeAdapter(Excerpt | _Refusal)
_PRINTED: Final = TypeAdapter(Printed)
_STYLE: Final = TypeAdapter(Style)


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
        key = self._key(_EXCERPT.dump_json(excerpt), _STYLE.dump_json(style), *map(str.encode, labels))
        kept = self.store.get(ENGRAVED, key)
        if kept is not None:
            return _PRINTED.validate_json(zlib.decompress(kept))
        made = super().printed(excerpt, style, labels)
        self.store.put(ENGRAVED, key, zlib.compress(_PRINTED.dump_json(made), 1))
        return made

    def vary(self, excerpt: Excerpt, name: str, words: Words) -> Excerpt:
        """A variant, or the reason why there is none: made when it was not made before."""
        key = self._key(_EXCERPT.dump_json(excerpt), name.encode(), words.choice.encode())
        kept = self.store.get(VARIED, key)
        if kept is not None:
            varied = _VARIED.validate_json(zlib.decompress(kept))
        else:
            try:
                varied = super().vary(excerpt, name, words)
            except VariantError as refusal:
                varied = (refusal.what, refusal.where, refusal.hint)
            self.store.put(VARIED, key, zlib.compress(_VARIED.dump_json(varied), 1))
        if isinstance(varied, Excerpt):
            return varied
        what, where, hint = varied
        raise VariantError(what, where=where, hint=hint)

    def _key(self, *facts: bytes) -> str:
        digests = b"".join(sha256(fact).digest() for fact in (self.version.encode(), *facts))
        return sha256(digests).hexdigest()
