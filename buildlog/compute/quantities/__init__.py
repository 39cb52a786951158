"""What figures are made of: amounts of money, units, and months of the calendar."""
