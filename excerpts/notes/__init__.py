"""The one note model: everything that thinks in notes reads events, changes them and writes them back."""
