"""The bag that a buyer gets: packed, unpacked, computed again and judged."""
