"""Views: each draws a document and asks for edits; none imports another."""
