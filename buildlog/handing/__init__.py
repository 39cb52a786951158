"""Between a log and the bag that a buyer gets: reading, reckoning and rendering for `record`, which parses nothing."""
