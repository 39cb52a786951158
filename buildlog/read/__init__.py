"""From disk to records: the owner's files are read, typed and named here; nothing is computed."""
