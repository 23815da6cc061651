"""What is shown in the terminal, and the one place that waits for keys."""
