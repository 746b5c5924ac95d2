"""The command line: one module per sub-command, each a thin layer that parses, calls and prints."""
