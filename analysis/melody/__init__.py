"""Sung notes against chord and key."""
