"""Plain values: what a library of fault trees says, before any car or answer is known.

Nothing here reads a file, computes a belief or writes to a screen.
"""
