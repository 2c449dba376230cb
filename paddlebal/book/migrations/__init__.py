"""How a book of an earlier version becomes one of this version."""
