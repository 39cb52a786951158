"""Tests of what is kept from one run to the next."""
