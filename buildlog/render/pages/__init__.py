"""Figures → views: one module a page, with the values that its template is given."""
