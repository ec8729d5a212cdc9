"""The open review: what the user decided about the marks, free of any window."""
