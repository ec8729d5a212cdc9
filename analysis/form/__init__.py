"""Sections, and what to talk about first."""
