"""Basses and inner voices that move by step or by fifths, and pedals."""
