"""From the symptoms of a bad print to its likely causes, and the next cheapest check."""
