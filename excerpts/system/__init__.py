"""What the machine is asked for: files, locks, libraries, processes."""
