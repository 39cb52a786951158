"""Which machine it is, as far as its numbers tell."""
