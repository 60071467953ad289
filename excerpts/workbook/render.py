"""From page models to PDF: the templates, their fetcher, and WeasyPrint."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import unquote, urlsplit
from urllib.request import url2pathname

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape
from weasyprint import HTML
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

from excerpts.musicxml import SOFTWARE
from excerpts.resources import templates

if TYPE_CHECKING:
    from weasyprint import Document


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


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The template environment: everything escaped, every missing name an error."""
    made = Environment(
        loader=FileSystemLoader(templates()),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["whole_ranges"] = whole_ranges
    return made


def whole_ranges(text: str) -> Markup:
    """A text whose ranges ("41–48") are not broken over two lines."""
    kept: str = re.sub(r"(\w+–\w+)", r'<span class="whole">\1</span>', str(escape(text)))
    return Markup(kept)


def lay_out(template: str, *, images: dict[str, Any], **values: object) -> Document:
    """Fill in `template` and lay it out in pages.

    Args:
        template: Name of the template.
        images: Ready image objects by the `src` that the page gives them; what is read besides is added,
            so that the next layout of the same pages need not read it again.
        values: What the template needs.
    """
    html = environment().get_template(template).render(**values)
    page = HTML(string=html, base_url=templates().resolve().as_uri() + "/", url_fetcher=OwnFilesOnly())
    return page.render(cache=images, pdf_variant=PDF_VARIANT)


def write_pdf(document: Document) -> bytes:
    """The bytes of a laid-out document: the same for the same pages, at any time."""
    pdf = document.write_pdf(pdf_variant=PDF_VARIANT, pdf_identifier=SOFTWARE.encode())
    assert isinstance(pdf, bytes)
    return pdf
