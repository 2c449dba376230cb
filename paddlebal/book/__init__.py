"""The workshop's book: what was measured, kept and found again."""
