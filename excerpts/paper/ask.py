"""The parent's side: pages are opened, looked at and cut in a child, which a hostile file cannot leave."""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import lru_cache
from hashlib import sha256
from importlib.metadata import version
from itertools import accumulate, pairwise
from pathlib import Path
from typing import Any, Final

from excerpts.errors import PaperError
from excerpts.paper.files import Pages, read_page_file
from excerpts.paper.value import Area, PageSeen, PaperCut, PaperLine, Snapped, Span, SystemSeen
from excerpts.system.cache import Store, cache_folder
from excerpts.system.child import Child, ChildDiedError

_MEGABYTES: Final = 1_500
"""Address space, of which libraries take half; a page of 40 megapixels needs 300 MB besides."""

_SECONDS: Final = 20


@lru_cache(maxsize=1)
def _child() -> Child:
    return Child("excerpts.paper.child", megabytes=_MEGABYTES, heard=False)


def cut(
    pages: Pages,
    page: int,
    areas: Sequence[Area] = (),
    spans: Sequence[Span] = (),
    blank: Sequence[Area] = (),
) -> PaperCut:
    """Cut areas, or parts of systems, out of a page.

    Args:
        pages: The pages.
        page: The page, from 1.
        areas: What is wanted of it, in the order in which it is played.
        spans: Parts of its systems instead.
        blank: Areas of the page that are left white.

    Raises:
        PaperError: The page or an area of it cannot be taken; the message says why.
    """
    path, index = pages.page(page)
    data = read_page_file(path)
    order = {"do": "spans" if spans else "areas", "page": index, "what": spans or areas, "blank": blank}
    facts, *pdfs = _asked(path, page, order, data)
    pairs = zip(pdfs[::2], pdfs[1::2], strict=True)
    lines = tuple(
        PaperLine(pdf, lead=lead, **_line(fact))
        for fact, (pdf, lead) in zip(json.loads(facts), pairs, strict=True)
    )
    digest = sha256(repr((index, areas, spans, blank)).encode() + sha256(data).digest()).hexdigest()
    return PaperCut((page,) * len(lines), lines, digest)


def look(pages: Pages, page: int) -> PageSeen:
    """The systems and barlines of a page, in millimetres from its top left corner.

    Args:
        pages: The pages, as `find_pages` gives them.
        page: The page, from 1.

    Raises:
        PaperError: It cannot be read. A page without staves is none; it has no systems.
    """
    path, index = pages.page(page)
    (facts,) = _asked(path, page, {"do": "look", "page": index}, read_page_file(path))
    return _seen(json.loads(facts))


def _seen(fact: dict[str, Any]) -> PageSeen:
    systems = tuple(
        SystemSeen(
            tuple(tuple(staff) for staff in one["staves"]), one["staff_mm"],
            tuple(tuple(bar) for bar in one["bars"]), tuple(tuple(bar) for bar in one["unsure"]),
        )
        for one in fact.pop("systems")
    )  # fmt: skip
    return PageSeen(systems=systems, **fact)


def picture(pages: Pages, page: int) -> tuple[PageSeen, bytes]:
    """A page with its systems and barlines drawn in and numbered, as PNG; and what is seen on it.

    Args:
        pages: The pages.
        page: The page, from 1.

    Raises:
        PaperError: It cannot be read.
    """
    path, index = pages.page(page)
    facts, png = _asked(path, page, {"do": "picture", "page": index}, read_page_file(path))
    return _seen(json.loads(facts)), png


def plain(pages: Pages, page: int) -> bytes:
    """A page as it is, for a screen, as PNG or JPEG. Nothing is looked for on it.

    Args:
        pages: The pages.
        page: The page, from 1.

    Raises:
        PaperError: It cannot be read.
    """
    path, index = pages.page(page)
    (made,) = _asked(path, page, {"do": "plain", "page": index}, read_page_file(path))
    return made


def snap(pages: Pages, page: int, area: Area) -> tuple[Snapped, ...]:
    """What would be cut out of a page for an area that was drawn by hand, a part for each system.

    Args:
        pages: The pages.
        page: The page, from 1.
        area: The area.

    Raises:
        PaperError: It cannot be taken; the message says why.
    """
    path, index = pages.page(page)
    (facts,) = _asked(path, page, {"do": "snap", "page": index, "what": [area]}, read_page_file(path))
    return tuple(
        Snapped(tuple(one["area"]), one["system"], one["span"] and tuple(one["span"]))
        for one in json.loads(facts)
    )


def count(pages: Pages) -> int:
    """How many pages there are.

    Raises:
        PaperError: The file cannot be read.
    """
    path, _ = pages.page(1)
    if path != pages.path:
        return len(pages.files)
    return int(_asked(path, 1, {"do": "count", "page": 0}, read_page_file(path))[0])


def whole(pages: Pages, page: int, blank: Sequence[Area] = ()) -> PaperLine:
    """A whole page, as it is.

    Args:
        pages: The pages.
        page: The page, from 1.
        blank: Areas of it that are left white.

    Raises:
        PaperError: It cannot be read.
    """
    path, index = pages.page(page)
    fact, pdf = _asked(path, page, {"do": "whole", "page": index, "blank": blank}, read_page_file(path))
    return PaperLine(pdf, **_line(json.loads(fact)))


def _line(fact: dict[str, Any]) -> dict[str, Any]:
    return {
        **fact,
        "bars": tuple(fact["bars"]),
        "box": fact["box"] and tuple(fact["box"]),
        "at": tuple(fact["at"]),
    }


def _asked(path: Path, page: int, order: dict[str, Any], data: bytes) -> list[bytes]:
    where = f"{path.name}, page {page}"
    key = sha256(_version() + json.dumps(order).encode() + sha256(data).digest()).hexdigest()
    store = Store(cache_folder())
    if (held := store.get("paper", key)) is not None:
        return _apart(held)
    try:
        kind, *answer = _child().ask(json.dumps(order).encode(), data, seconds=_SECONDS)
    except ChildDiedError as error:
        hint = "Print it to a new PDF, or save its page as a picture, and take that."
        raise PaperError(f"looking at it {error.reason}.", where=where, hint=hint) from error
    if kind == b"fault":
        what, hint = json.loads(answer[0])
        raise PaperError(what, where=where, hint=hint)
    store.put("paper", key, _together(answer))
    return answer


@lru_cache(maxsize=1)
def _version() -> bytes:
    """What an answer depends on besides its page: this room, and the libraries that it asks."""
    digest = sha256(",".join(version(name) for name in ("pypdfium2", "pikepdf", "pillow", "numpy")).encode())
    for source in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(source.read_bytes())
    return digest.digest()


def _together(parts: list[bytes]) -> bytes:
    return b"\n".join([json.dumps([len(part) for part in parts]).encode(), b"".join(parts)])


def _apart(held: bytes) -> list[bytes]:
    sizes, _, rest = held.partition(b"\n")
    ends = list(accumulate(json.loads(sizes), initial=0))
    return [rest[start:end] for start, end in pairwise(ends)]
