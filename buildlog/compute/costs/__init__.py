"""Money: from the lines of an order to what the machine has cost."""
