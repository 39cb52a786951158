"""Figures as pages; nothing is parsed or computed here."""
