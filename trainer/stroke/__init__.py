"""Floor 2: pure. Sightings in, phases, events, measures and one immutable record per stroke out."""
