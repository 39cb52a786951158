"""Foreign files become entries: what lies in a drawer is read, planned, shown, and written beside what is there."""
