"""The SVG of the engraver as ink in millimetres, and back as flat drawings."""
