"""From MusicXML to pages of shapes that know which element they draw."""
