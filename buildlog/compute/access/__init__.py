"""What lies within reach of strip-downs, and what is fitted only for now."""
