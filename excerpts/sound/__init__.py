"""Sound: MIDI files and clicks."""
