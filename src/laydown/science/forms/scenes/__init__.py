"""Pictures of our own, made by rule and chance: clearly synthetic, and good to look at."""
