"""The meter: readings, true totals, and how much the machine is used."""
