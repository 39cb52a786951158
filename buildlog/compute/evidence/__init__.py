"""What the log claims, and what backs it."""
