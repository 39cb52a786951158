"""The commands by what an owner does with them; each parses its options, calls and prints, and holds no logic."""
