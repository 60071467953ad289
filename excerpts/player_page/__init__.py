"""The player's page: a week as one HTML file, for a browser on a computer or a phone, without a server."""

from excerpts.player_page.build_page import BuiltPage, build_page

__all__ = ["BuiltPage", "build_page"]
