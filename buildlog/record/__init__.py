"""The record that a stranger can check: seals over the log's files, and what proves them."""
