"""Practice workbooks for string players: cut, varied, planned and printed from MusicXML scores."""
