"""Service: what recurs, when it was done, and when it is due."""
