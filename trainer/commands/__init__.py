"""Floor 7: one module a command: parse, wire, print."""
