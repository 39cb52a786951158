"""Publishes one machine's project log: dated Markdown entries in, a static site and exact figures out."""

__version__ = "0.1.0"
