"""Each step from one version of the book to the next."""
