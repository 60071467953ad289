"""The week: its file, and the plan of what to play on which day."""
