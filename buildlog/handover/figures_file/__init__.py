"""What the file of figures says: one module a group of questions, which names each key that is written.

A key keeps its name and meaning, whatever the values are called inside the program. When one comes, goes or gets
another meaning, that is a new format: see `FORMAT` and `CHANGED` in `figures_compared`, and the guide's list of keys.
"""
