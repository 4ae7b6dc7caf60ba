"""A bad print retraced."""
