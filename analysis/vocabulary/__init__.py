"""What several detectors share: numerals, roles, voices, places, words."""
