"""The commands: a thin shell over the stages."""

from excerpts.cli.start import main, run

__all__ = ["main", "run"]
