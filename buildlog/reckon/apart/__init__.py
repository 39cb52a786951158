"""What is apart: strip-downs, what lies within reach of them, and what is fitted only for now."""
