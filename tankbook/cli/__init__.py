"""The commands: arguments in, one call, rendered out."""
