"""Pages, packages and their parts onto the disk, without ever losing anything."""
