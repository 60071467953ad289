"""Engraving: an excerpt becomes SVG with its box and greyed context, or MIDI."""
