"""Whose page a file is."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Final

_DATA: Final = re.compile(rb'<script type="application/json" id="data">(.*?)</script>', flags=re.DOTALL)
_LARGEST: Final = 20_000_000
"""Bytes of a page: many times those of a full week."""


def page_owner(path: Path) -> str | None:
    """The player whose page a file is; None where it does not say so, or is no page."""
    try:
        if path.stat().st_size > _LARGEST:
            return None
        found = _DATA.search(path.read_bytes())
        player = json.loads(found[1])["player"] if found else None
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return player if isinstance(player, str) else None
