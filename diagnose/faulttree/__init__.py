"""What the fault-tree standards compute from one tree: minimal cut sets and importance, exactly.

Method: docs/fault-trees.md. `FaultTree` in `tree` is the door.
"""
