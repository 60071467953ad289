"""No page may be laid out with a complaint: the logger of WeasyPrint stays silent in every test of the workbook."""

from __future__ import annotations

import logging
from collections.abc import Iterator

import pytest


class _Heard(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.told: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.told.append(record.getMessage())


@pytest.fixture(autouse=True, scope="module")
def weasyprint_is_silent() -> Iterator[None]:
    """Fail when anything was logged while the tests of a module, and their fixtures, ran."""
    heard = _Heard()
    logger = logging.getLogger("weasyprint")
    logger.addHandler(heard)
    yield
    logger.removeHandler(heard)
    assert heard.told == []
