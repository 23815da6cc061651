"""What to do next: which check is worth its minutes, and when to cure instead."""
