"""The command line: arguments in, one call, rendered out. No reasoning lives here."""
