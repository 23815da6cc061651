"""A job: one car's record from complaint to cure, kept as a journal of events.

events (what can happen) <- state (events -> plain state) <- journal (SQLite) <- export (text and back)
"""
