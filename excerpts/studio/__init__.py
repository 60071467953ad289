"""The studio: the workbooks of all players at once, and nothing built twice.

Nothing heavy is imported here: a studio in which nothing has changed is done before the page maker could be loaded.
"""

from excerpts.studio.run import Outcome, Summary, build_studio

__all__ = ["Outcome", "Summary", "build_studio"]
