"""WeasyPrint is loaded without a search through the compiler, and without what it seldom uses."""

from __future__ import annotations

import subprocess
import sys

import pytest

_LOAD = """
import ctypes.util
asked = []
search = ctypes.util.find_library
ctypes.util.find_library = lambda name: asked.append(name) or search(name)
import excerpts.workbook.render, excerpts.teacher
import sys
assert "weasyprint" in sys.modules
assert "fontTools.subset" not in sys.modules
print(asked)
from weasyprint.pdf.fonts import instantiateVariableFont, subset
print(subset.Options().hinting, "fontTools.subset" in sys.modules)
try:
    instantiateVariableFont({}, {})
except ValueError as error:
    print(error)
"""


@pytest.mark.slow
def test_nothing_is_searched_for_when_the_pages_are_loaded() -> None:
    """WeasyPrint's search runs `ldconfig` and `gcc`: 0.2 seconds of a build where a compiler is installed."""
    done = subprocess.run([sys.executable, "-c", _LOAD], capture_output=True, text=True, check=True)
    searched, option, failed = done.stdout.splitlines()
    assert searched == "[]"
    assert option == "True True", "tools for fonts are loaded when they are called"
    assert "fvar" in failed, "fontTools itself says that this is no variable font"
