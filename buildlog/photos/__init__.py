"""Originals as pictures that are fit to publish; nothing is known here of pages or figures."""
