"""Floor 7: use cases. A request in, values or events out; no parsing, no printing, no pygame."""
