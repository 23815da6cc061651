"""How likely every cause is, given everything that was heard, seen and measured: exactly."""
