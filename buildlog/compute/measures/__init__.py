"""Gauges and wrenches: what was measured and what was tightened."""
