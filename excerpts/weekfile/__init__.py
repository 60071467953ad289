"""The week file: text to checked values with their lines, and back with comments kept."""
