"""Use cases. A request in, values or events out; no parsing, no printing, no pygame."""
