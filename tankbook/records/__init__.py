"""The nouns and their parsing: what a ledger's files say, as typed values."""
