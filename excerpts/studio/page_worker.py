"""A process that builds the players' pages of a studio, one after another."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path
from typing import Any

from excerpts.player_page import build_page
from excerpts.studio.disk_render_cache import DiskRenderCache
from excerpts.studio.worker import SCORES, inputs, serve_orders
from excerpts.system.cache import Store
from excerpts.system.output import check_output, write_whole
from excerpts.week import resolve
from excerpts.weekfile.read_week import read_week


def build(order: dict[str, Any]) -> dict[str, Any]:
    """Build the page of a week and write it.

    Args:
        order: "week" and "target", files; "cache", its folder or None; "version", what drawings depend on besides the
            music; "force", write over a file of the user's.

    Returns:
        What the studio remembers of it: digests of everything it was made from and of itself. What the workbook tells
        is not told again.

    Raises:
        ExcerptsError: The week cannot be built or written.
    """
    path, target = Path(order["week"]), Path(order["target"])
    check_output(target, (".html",), force=order["force"])
    read = inputs(read_week(path))  # what changes from here on is built again the next time
    store = Store(Path(order["cache"]) if order["cache"] else None)
    built = build_page(resolve(read_week(path), SCORES), memory=DiskRenderCache(store, order["version"]))
    write_whole(target, built.html)
    return {
        "read": read,
        "pdf": sha256(built.html).hexdigest(),
        "trouble": store.trouble,
    }


if __name__ == "__main__":
    serve_orders(build)
