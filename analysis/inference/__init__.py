"""Chords where none are written, and doubts about those that are."""
