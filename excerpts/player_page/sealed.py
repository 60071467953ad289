"""One file that lets nothing in and nothing out: its script and its style in it, each allowed by its own hash."""

from __future__ import annotations

import json
import re
from base64 import b64encode
from functools import lru_cache
from hashlib import sha256
from typing import Any, Final

from markupsafe import Markup

from excerpts.system.resources import templates

FOLDER: Final = "player_page"
"""Folder of the templates of the page."""

_MODULES: Final = (
    "rules", "sound", "kept", "parts", "clock", "day", "take", "box", "reading", "stage", "home", "page",
)  # fmt: skip
"""The modules of its script, each after those that it needs: one text, since a file may import no other."""

_LINKS: Final = re.compile(r"^import .*\n|^export (?=\w)", flags=re.MULTILINE)
_COMMENTS: Final = re.compile(r"^ *//[^\n]*\n| */\*\*(?:(?!\*/).)*\*/\n?", flags=re.MULTILINE | re.DOTALL)


@lru_cache(maxsize=1)
def script() -> str:
    """The script of the page, without what is said in it to developers."""
    texts = [
        (templates() / FOLDER / f"{name}.mjs").read_text(encoding="utf-8").removeprefix("// @ts-check\n")
        for name in _MODULES
    ]
    return _COMMENTS.sub("", _LINKS.sub("", "\n".join(texts)))


@lru_cache(maxsize=1)
def style() -> str:
    """The style sheet of the page."""
    return (templates() / FOLDER / "page.css").read_text(encoding="utf-8")


def as_data(data: Any) -> Markup:
    """Values as JSON that no text in them can end or leave (HTML standard, 4.12.1.3)."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    return Markup(text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e"))


def policy(*, script: str, style: str, pictures: bool) -> str:
    """The content security policy of a file (CSP Level 3): nothing but what is in it, and recordings made on it.

    Args:
        script: The script.
        style: The style sheet.
        pictures: It holds pictures as data besides its drawings.
    """
    rules = {
        "default-src": "'none'",
        "script-src": _hash(script),
        "style-src": _hash(style),
        "media-src": "blob:",
        "base-uri": "'none'",
        "form-action": "'none'",
    } | ({"img-src": "data:"} if pictures else {})
    return "; ".join(f"{name} {value}" for name, value in rules.items())


def _hash(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"
