"""What the questions on the command line answer: one module a question, each as a table to read or as JSON."""
