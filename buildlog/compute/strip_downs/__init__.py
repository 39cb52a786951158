"""Strip-downs: what must come off to reach something, and what is off."""
