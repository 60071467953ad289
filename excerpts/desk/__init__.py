"""The desk: a teacher's studio in the browser, on the teacher's own files. It calls what the commands call."""
