"""Faults: what each can still be, and where to look next."""
