"""A trial's brief, candidates and plan."""
