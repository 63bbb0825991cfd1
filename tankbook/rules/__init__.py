"""What is due and what may be filled: reasoning over records and rule rows, both passed in."""
