"""Amounts of money: currencies, rounding, and shares that add up exactly."""
