"""What a scan of a form shows: sharpness, and later grain, voids and evenness."""
