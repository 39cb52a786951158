"""A log looked at while it is written: its site served from memory, made anew after every save."""
