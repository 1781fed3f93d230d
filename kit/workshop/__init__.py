"""The workshop session: answers and group files, forms, printed sheets, the nomogram."""
