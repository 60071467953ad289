"""One module for each practice variant; each has a `VARIANT` that the registry finds by itself."""
