"""Figures as pages, and pages on the disk; nothing is parsed or reckoned here."""
