"""One file a format: text or bytes out of a document."""
