"""Facts of the MusicXML format: time in a bar, metre, names and orders of elements; nothing of practising."""
