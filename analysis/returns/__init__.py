"""What comes back: phrases, echoes, loops, and new chords under an old melody."""
