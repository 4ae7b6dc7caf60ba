"""A studio's trial as plain data and pure rules: what is kept, what may happen next, what must not."""
