"""Key regions and their evidence."""
