"""A drawn car to practise on: what it shows, how hard it is, and how a search of it compares."""
