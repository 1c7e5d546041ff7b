"""Pure. Observations in, phases, events, measures and one immutable record per stroke out."""
