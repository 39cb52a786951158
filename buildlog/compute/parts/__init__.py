"""Parts: what they are, where each of them is, and what happened to it."""
