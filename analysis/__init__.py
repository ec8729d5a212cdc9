"""The analysis core: from a transcription to marks, with no window and no engraving."""
