"""The workbench: review, engraving, export and the window over the analysis core."""
