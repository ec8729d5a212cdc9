"""A file becomes a Score."""
