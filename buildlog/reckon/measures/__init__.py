"""Gauges and wrenches: what was measured, what was tightened, and in which units."""
