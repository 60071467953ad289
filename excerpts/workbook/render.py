"""From page models to PDF: the templates, their fetcher, and WeasyPrint."""

from __future__ import annotations

import gc
import logging
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import lru_cache, partial
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any
from urllib.parse import unquote, urlsplit
from urllib.request import url2pathname
from xml.etree.ElementTree import XML

from cssselect2 import ElementWrapper
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from excerpts.system.libraries import straight_from_the_system
from excerpts.system.resources import templates
from excerpts.workbook.finish_pdf import finish, identified
from excerpts.workbook.page_faults import heard, off_the_paper, told
from excerpts.workbook.page_names import shortened

with straight_from_the_system():
    from weasyprint import CSS, HTML
    from weasyprint.text.fonts import FontConfiguration
    from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

if TYPE_CHECKING:
    from weasyprint import Document


_LOGGER = logging.getLogger("excerpts")

LONGEST_END = 16
"""Letters of two words that stay together at the end of a text."""

_NOT_XML = re.compile("[^\\t\\n\\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What no XML may hold (XML 1.0, 2.2): control characters and halves of pairs, which print nothing anyway."""

PDF_VARIANT = "pdf/ua-1"
"""Tagged, with a title, a language and a spoken description for each piece of music."""


class ForbiddenAddressError(FatalURLFetchingError):  # type: ignore[misc]
    """A page asked for something outside the template folder: the build stops instead of leaving it out."""


class OwnFilesOnly(URLFetcher):  # type: ignore[misc]
    """Gives templates, faces and data addresses; no network, and no other file of the machine."""

    def __init__(self) -> None:
        super().__init__(allowed_protocols={"file", "data"}, fail_on_errors=True)
        self.root = templates().resolve()

    def fetch(self, url: str, headers: Mapping[str, str] | None = None) -> URLFetcherResponse:
        """Open `url` when it is data or a file of the template folder.

        Raises:
            ForbiddenAddressError: It is anything else.
        """
        parts = urlsplit(url)
        if parts.scheme == "file":
            path = Path(url2pathname(unquote(parts.path))).resolve()
            if parts.netloc not in {"", "localhost"} or not path.is_relative_to(self.root):
                raise ForbiddenAddressError(f"a page may not read {url}")
        elif parts.scheme != "data":
            raise ForbiddenAddressError(f"a page may not fetch {url}")
        return super().fetch(url, headers)


class _Page(HTML):  # type: ignore[misc]
    """A page that is read as XML, and shown by a sheet for the few elements that templates have.

    Templates are written so that it is the same tree, and the same page, as by WeasyPrint's own ways, which take a
    fifth of a layout more: 3.45 s for a workbook of 22 pages instead of 3.28. All values in it are escaped.

    Args:
        html: The page.

    Raises:
        xml.etree.ElementTree.ParseError: A template is no XML.
    """

    def __init__(self, html: str) -> None:
        root = XML(_NOT_XML.sub("", html))
        # All that WeasyPrint's own way of reading leaves behind.
        self.base_url = templates().resolve().as_uri() + "/"
        self.url_fetcher = OwnFilesOnly()
        self.media_type = "print"
        self.wrapper_element = ElementWrapper.from_html_root(root, content_language=None)
        self.etree_element = self.wrapper_element.etree_element

    def _ua_stylesheets(self, forms: bool = False) -> list[CSS]:
        assert not forms
        return [_style("base.css")]


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The template environment: everything escaped, every missing name an error."""
    made = Environment(
        loader=FileSystemLoader(templates()),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        optimized=False,  # pages are filled in twice, for which constants are not worth reckoning beforehand
    )
    made.filters["whole_ranges"] = whole_ranges
    made.filters["whole_end"] = whole_end
    made.filters["shortened"] = shortened
    return made


def whole_ranges(text: str) -> Markup:
    """A text whose ranges, with the word before them ("bars 41–48"), and tempos ("crotchet = 76") are not broken."""
    kept: str = re.sub(
        r"((?:\w{1,8} )?\w+–\w+|\w+ = \d+)", r'<span class="whole">\1</span>', str(escape(text))
    )
    return Markup(kept)


def whole_end(text: str) -> str:
    """A text whose last two words stay together, so that no short word is left alone on its last line."""
    head, space, last = text.rpartition(" ")
    before = head.rpartition(" ")[2]
    return f"{head}\N{NO-BREAK SPACE}{last}" if space and len(last) + len(before) < LONGEST_END else text


@lru_cache(maxsize=1)
def _fonts() -> FontConfiguration:
    """The faces, read once for all documents of a process."""
    return FontConfiguration()


@lru_cache(maxsize=32)
def _style(*names: str, rules: str = "") -> CSS:
    """Style sheets of the template folder, and rules, as one sheet: read once for all documents of a process.

    Each element of a page is held against the rules of each sheet; one sheet is asked once.
    """
    base = templates().resolve()
    texts = [(base / name).read_text(encoding="utf-8") for name in names]
    return CSS(
        string="\n".join([*texts, rules]),
        base_url=base.as_uri() + "/",
        url_fetcher=OwnFilesOnly(),
        font_config=_fonts(),
    )


def lay_out(
    template: str, *, images: dict[str, Any], styles: Sequence[str], page_rules: str, **values: object
) -> Document:
    """Fill in `template` and lay it out in pages.

    Args:
        template: Name of the template.
        images: Ready image objects by the `src` that the page gives them; what is read besides is added,
            so that the next layout of the same pages need not read it again.
        styles: Names of its style sheets, the stronger ones last.
        page_rules: Size and margins of the pages, as CSS.
        values: What the template needs.
    """
    return lay_out_text(filled_in(template, **values), images=images, styles=styles, page_rules=page_rules)


def filled_in(template: str, **values: object) -> str:
    """A template with its values in it, as HTML."""
    return environment().get_template(template).render(**values)


def lay_out_text(html: str, *, images: dict[str, Any], styles: Sequence[str], page_rules: str) -> Document:
    """Lay out HTML in pages; the values are those of `lay_out`."""
    with collector_paused():
        page = _Page(html)
        sheets = [_style("faces.css", *styles), _style(rules=page_rules)]
        return page.render(font_config=_fonts(), cache=images, stylesheets=sheets, pdf_variant=PDF_VARIANT)


@contextmanager
def collector_paused() -> Iterator[None]:
    """Let Python look for unused objects afterwards: 3.53 s for a workbook of 22 pages instead of 3.28."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def write_pdf(
    document: Document,
    *,
    tagged: bool = True,
    music: Sequence[str] = (),
    said: list[str] | None = None,
    facts: Mapping[str, str] = MappingProxyType({}),
) -> bytes:
    """The bytes of a laid-out document: the same for the same pages, at any time.

    Args:
        document: The document.
        tagged: Write it as PDF/UA; sheets that are to be folded have no order to be read in.
        music: What was logged when the music on its pages was engraved.
        said: Takes a sentence for each character that no face has, and for each page with something outside the paper;
            without it they are logged.
        facts: What the file says of itself, besides its title.
    """
    variant = PDF_VARIANT if tagged else None
    with collector_paused(), heard() as faceless:
        pdf = document.write_pdf(pdf_variant=variant, finisher=partial(finish, facts=facts))
    assert isinstance(pdf, bytes)
    faults = [*told(faceless, document, music), *off_the_paper(document)]
    if said is not None:
        said += faults
    else:
        for sentence in faults:
            _LOGGER.warning(sentence)
    return identified(pdf)
