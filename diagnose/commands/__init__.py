"""What a command of the command line does, one module each; `cli` parses and calls."""
