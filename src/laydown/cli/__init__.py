"""The command line: parses, calls one use case, shows one result."""
