"""From the records of a log to its figures, as of a day: pure functions, one module for each question."""
