"""Figures → views: one module a page, each finishing every word that its template prints."""
